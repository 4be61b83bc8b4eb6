#pragma once

#include <string>

namespace lowhiss {

/// A decimal number held exactly: sign, digits, and the power of ten they are counted in.
/// 4.7e3 is { false, "47", 2 }.
struct Decimal {
    bool negative = false;
    std::string digits{};  // at least one, '0' to '9'
    long exponent = 0;

    bool operator==(const Decimal&) const = default;
};

bool is_zero(const Decimal& decimal);

/// The double nearest to the decimal, ties to even; infinite or 0 beyond the range of doubles.
double nearest_double(const Decimal& decimal);

/// The decimal plus hundredths / 100, exactly, without zeros at either end. A decimal below
/// 10^-400, which cannot decide how the sum rounds to a double, may be taken for another such one,
/// and so may a decimal above 10^400, which no double can hold.
Decimal plus_hundredths(const Decimal& decimal, int hundredths);

/// The shortest decimal that reads back to this finite value, without trailing zeros.
Decimal shortest_decimal(double value);

/// This finite value rounded to 1 to 17 significant digits, without trailing zeros.
Decimal rounded_decimal(double value, int significant);

}  // namespace lowhiss
