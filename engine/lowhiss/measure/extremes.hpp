#pragma once

#include <functional>
#include <span>
#include <vector>

#include "lowhiss/analysis/noise.hpp"

namespace lowhiss {

struct Extreme {
    double value;
    double at_hz;
};

struct Extremes {
    Extreme smallest;
    Extreme largest;
};

/// Where a curve is looked at first: 24 points a decade and `also_hz` (resonances), ascending.
std::vector<double> scan_frequencies_hz(const Band& band, std::span<const double> also_hz);

/// The smallest and the largest value of a smooth curve over a band: looked for at the scan's
/// frequencies, then sharpened by Brent's parabolas (Brent 1973, chapter
/// 5) between the neighbours. Unset values are passed over.
Extremes extremes_over_band(const std::function<double(double frequency_hz)>& curve,
                            const Band& band, std::span<const double> also_hz);

}  // namespace lowhiss
