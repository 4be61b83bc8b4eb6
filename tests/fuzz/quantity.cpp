// Any bytes as a quantity of any unit: read without harm, and what is printed of it reads back.

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/print.hpp"

using namespace lowhiss;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size < 1) return 0;
    const Unit unit = units()[data[0] % units().size()].unit;
    const std::string_view text(reinterpret_cast<const char*>(data + 1), size - 1);
    const auto parsed = parse_quantity(text, unit);
    const double* value = std::get_if<double>(&parsed);
    if (!value) {
        if (std::get<QuantityProblem>(parsed).accepted.empty()) std::abort();
        return 0;
    }
    if (!std::isfinite(*value)) std::abort();
    const auto again = parse_quantity(print_quantity(*value, unit, 17), unit);
    const double* back = std::get_if<double>(&again);
    // Figures too small or too large for any prefix may be refused, but never read as another. Of a
    // temperature the digits are those of its degrees Celsius.
    const double nothing = unit == Unit::kelvin ? 1e-10 : 1e-300;
    if (back && std::abs(*back - *value) > 1e-12 * std::abs(*value) + nothing) std::abort();
    return 0;
}
