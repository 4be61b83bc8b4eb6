#pragma once

#include <string>

#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// The shortest text that `parse_quantity` turns into the same double: "4.7 kΩ", "1 %".
///
/// Accepts   any double in the SI base unit. NaN, which is an unset value, is "-"; infinities are
///           "inf" and "-inf", which do not parse; negative zero is printed as 0.
/// Range     values beyond the prefixes have an exponent: "1e-30 F". Temperatures are in degC, or
///           in K if degC would take more than 17 digits.
std::string print_quantity(double value, Unit unit);

/// The same, rounded to `significant` digits (clamped to 1 to 17), without trailing zeros:
/// 129.4e-9 V to 3 digits is "129 nV".
std::string print_quantity(double value, Unit unit, int significant);

}  // namespace lowhiss
