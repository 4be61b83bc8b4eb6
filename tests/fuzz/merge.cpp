// Any bytes as the result of a series, read by `tolerance --merge`. Each has the checksum that it
// should have: random changes would never get past it.

#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <string>

#include "command/tolerance.hpp"
#include "fuzz/in_command.hpp"
#include "shard/packer.hpp"
#include "shard/series_result.hpp"

using namespace lowhiss;

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

namespace {

constexpr std::string_view board = R"([parts]
R1 = { resistor = "1k", pins = ["in", "out"], tolerance = "1 %" }
RV1 = { potentiometer = "10k", pins = ["out", "out", "gnd"], tolerance = "20 %" }
[input]
plus = "in"
[output]
plus = "out"
[knob]
part = "RV1"
positions = [0.5, 1]
[[limit]]
name = "level"
measure = "gain"
min = "-3 dB"
)";

const std::string& folder() {
    static const std::string name = test::fuzz_folder();
    return name;
}

const std::string& good_result() {
    static const std::string bytes = [] {
        test::write_file(folder() + "/board.toml", board);
        cli::ToleranceOptions options;
        options.board = folder() + "/board.toml";
        options.range.boards = 3;
        options.common.quiet = true;
        options.result = folder() + "/good.shard";
        run_tolerance(options);
        std::ifstream file(options.result, std::ios::binary);
        return std::string(std::istreambuf_iterator<char>(file), {});
    }();
    return bytes;
}

std::string sealed(std::string content) {
    cli::Checksum sum;
    sum.add(content);
    const cli::Sink sink = [&](std::string_view piece) { content += piece; };
    cli::Packer packer(sink);
    packer.whole_in_nine_bytes(sum.value());
    packer.finish();
    return content;
}

}  // namespace

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size,
                                               std::size_t most, unsigned) {
    const std::string& good = good_result();
    const std::size_t body = good.size() - cli::checksum_bytes;
    if (size < 16 && body <= most) {  // the first input is empty
        std::memcpy(data, good.data(), body);
        size = body;
    }
    return LLVMFuzzerMutate(data, size, most);
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    good_result();
    cli::ToleranceOptions options;
    options.merge = {folder() + "/merged.shard"};
    test::write_file(options.merge.front(), sealed({reinterpret_cast<const char*>(data), size}));
    options.json = "/dev/null";
    options.common.quiet = true;
    test::as_command([&] { run_tolerance(options); });
    return 0;
}
