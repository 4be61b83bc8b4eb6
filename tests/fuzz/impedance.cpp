// Any bytes as a measured impedance: a CSV or a one-port S-parameter file, as the first byte says.

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <memory>
#include <string>

#include "lowhiss/impedance/file.hpp"

using namespace lowhiss;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size < 1) return 0;
    const std::string name = data[0] % 2 == 0 ? "z.csv" : "z.s1p";
    const std::string text(reinterpret_cast<const char*>(data + 1), size - 1);
    Diagnostics out;
    const auto points =
        read_impedance_file(std::make_shared<const Source>(Source{name, text}), out);
    if (points.empty() && out.empty()) std::abort();
    for (std::size_t k = 0; k < points.size(); ++k) {
        if (!std::isfinite(points[k].resistance_ohm) || points[k].resistance_ohm < 0) std::abort();
        if (!std::isfinite(points[k].reactance_ohm)) std::abort();
        if (k > 0 && !(points[k].frequency_hz > points[k - 1].frequency_hz)) std::abort();
    }
    return 0;
}
