#pragma once

namespace lowhiss {

/// 0 dBu: sqrt(0.6) V, 1 mW into 600 ohm.
inline constexpr double zero_dbu_v = 0.77459666924148337704;

// Accepts   any double. A ratio or voltage of 0 is -inf dB, a negative one NaN.
// Accuracy  to decibels: a few ulp, and exact at a ratio of 1. From decibels: a relative error of
//           about (1 + |dB| / 8) ulp, since the rounding of the exponent is amplified.
// Range     a result beyond the range of a double is 0 or inf.

double db_from_ratio(double voltage_ratio);
double ratio_from_db(double gain_db);

double db_from_power_ratio(double power_ratio);
double power_ratio_from_db(double gain_db);

double dbu_from_v(double level_v);
double v_from_dbu(double level_dbu);

}  // namespace lowhiss
