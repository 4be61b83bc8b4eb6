// Any bytes as a baseline.

#include <cstdint>
#include <cstdlib>
#include <string>

#include "lowhiss/promise/baseline.hpp"
#include "support/memory_reader.hpp"

using namespace lowhiss;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    Diagnostics out;
    const auto baseline =
        read_baseline("board.baseline", test::memory_reader({{"board.baseline", text}}), out);
    if (!baseline && out.empty()) std::abort();
    return 0;
}
