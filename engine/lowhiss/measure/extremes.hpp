#pragma once

#include <functional>
#include <span>
#include <vector>

#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

struct Extreme {
    double value;
    double at_hz;
};

struct Extremes {
    Extreme smallest;
    Extreme largest;
};

/// 24 frequencies a decade and those of `also_hz` (resonances, flanks) within the band, ascending.
std::vector<double> scan_frequencies_hz(const Band& band, std::span<const double> also_hz);

/// The smallest and the largest value of a smooth curve over a band: those local extremes of the
/// scan that could exceed the largest one found are refined between their neighbours by Brent's
/// method ("Algorithms for Minimization without Derivatives", 1973, chapter 5). Unset values are
/// skipped; without any value the extremes are unset.
Extremes extremes_over_band(const std::function<double(double frequency_hz)>& curve,
                            const Band& band, std::span<const double> also_hz);

}  // namespace lowhiss
