#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

/// The names of the series of preferred values of IEC 60063: "E3" to "E192".
std::span<const std::string> preferred_series();

/// The values of one decade, as whole numbers: 10 to 82 for E12, 100 to 988 for E192. Empty if
/// there is no series of that name.
std::vector<int> preferred_mantissas(std::string_view series);

/// All values of the series from `low` to `high`, ascending, each the double that is nearest to the
/// decimal. An end that is a value of the series, or off one by rounding, is in it. Empty unless
/// 0 < low <= high, both finite, or if there is no such series.
std::vector<double> preferred_values(std::string_view series, double low, double high);

}  // namespace lowhiss
