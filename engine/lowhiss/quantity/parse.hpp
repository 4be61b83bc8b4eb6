#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "lowhiss/quantity/unit.hpp"

namespace lowhiss {

/// Why a text is not a quantity. Each member is a phrase for a diagnostic, without a final stop.
struct QuantityProblem {
    std::string found;     // "'4,7k' has a comma"
    std::string accepted;  // "a resistance such as 4k7, 4.7 kΩ or 4700 ohm"
    std::string advice;    // "write 4.7k"; may be empty
};

/// Reads a quantity such as `4k7`, `4.7 kΩ`, `1e6 MHz` or `20 degC` into its SI base unit.
///
/// Accepts   any bytes. Prefixes are f p n u m k M G, case-sensitive (also K for resistances); a
///           prefix or a one-letter unit may replace the decimal point (IEC 60062: 4k7, 2R2, p33);
///           `info(unit).spellings` lists the units.
/// Accuracy  correctly rounded for every decimal text; decibels of a ratio to a few ulp.
/// Range     finite doubles; a text that would overflow, or become 0 without being 0, is a problem.
///           The caller checks whether a sign makes physical sense.
/// Cost      at most quadratic in the length of the text, which is limited to 1000 bytes.
///
/// Throws only for lack of memory and does not depend on the locale.
std::variant<double, QuantityProblem> parse_quantity(std::string_view text, Unit unit);

}  // namespace lowhiss
