#pragma once

#include <string>

namespace lowhiss {

/// An exact decimal number: sign, digits, and the power of ten of the last digit. 4.7e3 is
/// { false, "47", 2 }.
struct Decimal {
    bool negative = false;
    std::string digits{};  // at least one, '0' to '9'
    long exponent = 0;

    bool operator==(const Decimal&) const = default;
};

bool is_zero(const Decimal& decimal);

/// The double nearest to the decimal, ties to even; infinite or 0 beyond the range of doubles.
double nearest_double(const Decimal& decimal);

/// The decimal plus hundredths / 100, exactly, without zeros at either end. Decimals below 10^-400,
/// which do not affect how the sum rounds to a double, and above 10^400, which no double can hold,
/// may be replaced by others of that kind.
Decimal plus_hundredths(const Decimal& decimal, int hundredths);

/// The shortest decimal that rounds to this finite value, without trailing zeros.
Decimal shortest_decimal(double value);

/// This finite value rounded to 1 to 17 significant digits, without trailing zeros.
Decimal rounded_decimal(double value, int significant);

}  // namespace lowhiss
