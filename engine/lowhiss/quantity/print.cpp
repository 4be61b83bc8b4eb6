#include "lowhiss/quantity/print.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string_view>

#include "lowhiss/quantity/decimal.hpp"

namespace lowhiss {
namespace {

// A unit as printed, with the range of its prefixes.
struct PrintedUnit {
    std::string_view symbol;
    int lowest_prefix = 0;
    int highest_prefix = 0;
};

constexpr Prefix no_prefix{' ', 0, ""};

const Prefix* prefix_for(long power, const PrintedUnit& unit) {
    const long group = power - ((power % 3) + 3) % 3;  // the multiple of 3 at or below
    if (group < unit.lowest_prefix || group > unit.highest_prefix) return nullptr;
    if (group == 0) return &no_prefix;
    return &*std::ranges::find(prefixes(), group, &Prefix::exponent);
}

// The digits with a decimal point after the first `whole` of them, padded with zeros.
std::string with_point(std::string digits, long whole) {
    if (whole <= 0) digits.insert(0, static_cast<std::size_t>(1 - whole), '0');
    const auto point = static_cast<std::size_t>(std::max(whole, 1L));
    if (digits.size() <= point) return digits.append(point - digits.size(), '0');
    return digits.insert(point, ".");
}

std::string joined(const std::string& number, std::string_view prefix, std::string_view symbol) {
    const bool spaced = !symbol.empty() && symbol != "°";  // as the SI brochure writes an angle
    return number + (spaced ? " " : "") + std::string(prefix) + std::string(symbol);
}

std::string lay_out(const Decimal& decimal, const PrintedUnit& unit) {
    if (is_zero(decimal)) return joined("0", "", unit.symbol);
    const std::string sign = decimal.negative ? "-" : "";
    const long power = static_cast<long>(decimal.digits.size()) - 1 + decimal.exponent;
    if (const Prefix* prefix = prefix_for(power, unit))
        return joined(sign + with_point(decimal.digits, power + 1 - prefix->exponent),
                      prefix->printed, unit.symbol);
    // Without a prefix, a few zeros are more readable than an exponent.
    if (power >= -4 && power <= 6)
        return joined(sign + with_point(decimal.digits, power + 1), "", unit.symbol);
    return joined(sign + with_point(decimal.digits, 1) + "e" + std::to_string(power), "",
                  unit.symbol);
}

Decimal scaled(Decimal decimal, int exponent) {
    decimal.exponent += exponent;
    return decimal;
}

// `rounded` rounds a decimal to the digits to be shown.
template <class Rounding>
std::string print(double value, const UnitInfo& unit, Rounding rounded) {
    if (std::isnan(value)) return "-";
    if (std::isinf(value)) return joined(value > 0 ? "inf" : "-inf", "", unit.symbol);
    if (unit.unit == Unit::kelvin) {
        constexpr std::size_t most_digits = 17;
        const Decimal celsius = plus_hundredths(shortest_decimal(value), -273'15);
        if (celsius.digits.size() <= most_digits)
            return lay_out(rounded(celsius), {.symbol = "degC"});
    }
    const PrintedUnit printed{unit.symbol, unit.lowest_prefix, unit.highest_prefix};
    return lay_out(scaled(rounded(shortest_decimal(value)), -unit.symbol_exponent), printed);
}

}  // namespace

std::string print_quantity(double value, Unit unit) {
    return print(value, info(unit), [](const Decimal& exact) { return exact; });
}

std::string print_quantity(double value, Unit unit, int significant) {
    return print(value, info(unit), [&](const Decimal& exact) {
        return rounded_decimal(nearest_double(exact), significant);
    });
}

}  // namespace lowhiss
