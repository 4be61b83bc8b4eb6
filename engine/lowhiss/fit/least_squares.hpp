#pragma once

#include <functional>
#include <vector>

namespace lowhiss {

/// The residuals at a point, always of the same number and finite.
using Residuals = std::function<std::vector<double>(const std::vector<double>& at)>;

/// A local minimum of the sum of squares from `start`, by the Levenberg-Marquardt method of MINPACK
/// (Moré, Lecture Notes in Mathematics 630, 1978) with central differences. There are at least as
/// many residuals as unknowns.
std::vector<double> least_squares(const Residuals& residuals, const std::vector<double>& start);

/// The root of the mean square.
double rms(const std::vector<double>& residuals);

}  // namespace lowhiss
