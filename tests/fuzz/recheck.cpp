// Any bytes as the baseline of a board, read by `check` and written into every report.

#include <fcntl.h>
#include <unistd.h>

#include <cstdint>
#include <string>

#include "command/check.hpp"
#include "fuzz/in_command.hpp"

using namespace lowhiss;

namespace {

constexpr std::string_view board = R"([parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)";

const std::string& folder() {
    static const std::string name = [] {
        std::string fresh = test::fuzz_folder();
        test::write_file(fresh + "/board.toml", board);
        // The table is written to standard output, and mistakes to the fuzzer's own stream.
        ::dup2(::open("/dev/null", O_WRONLY), STDOUT_FILENO);
        return fresh;
    }();
    return name;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    cli::CheckOptions options;
    options.boards = {folder() + "/board.toml"};
    test::write_file(folder() + "/board.baseline", {reinterpret_cast<const char*>(data), size});
    options.json = "/dev/null";
    options.junit = "/dev/null";
    test::as_command([&] { run_check(options); });
    return 0;
}
