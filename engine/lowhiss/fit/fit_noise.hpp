#pragma once

#include <variant>
#include <vector>

#include "lowhiss/fit/fit_result.hpp"

namespace lowhiss {

struct NoisePoint {
    double frequency_hz;
    double density;  ///< V or A per root hertz
};

/// density = floor sqrt(1 + corner / f)
struct NoiseFit {
    double floor = unset;
    double corner_hz = unset;
    FitResidual residual;
};

/// Floor and corner of a noise density: exact for two points, by least squares of the relative
/// error of the power for more, which is linear in floor² and floor² corner. A problem: fewer than
/// two points, a frequency twice, and points that no floor above zero, or no corner of zero or
/// more, explains.
std::variant<NoiseFit, FitProblem> fit_noise(std::vector<NoisePoint> points);

}  // namespace lowhiss
