#include "lowhiss/fit/least_squares.hpp"

#include <cminpack.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace lowhiss {
namespace {

/// The residuals at `at`, or if MINPACK asks for it their Jacobian by central differences, a column
/// for each unknown. The relative step is the cube root of epsilon, for which truncation and
/// rounding errors are of similar size.
int evaluate(void* asked, int count, int unknowns, const double* at, double* out, double* slopes,
             int rows, int wanted) {
    const auto& residuals = *static_cast<const Residuals*>(asked);
    std::vector<double> x(at, at + unknowns);
    if (wanted == 1) {
        std::ranges::copy(residuals(x), out);
        return 0;
    }
    const double step = std::cbrt(std::numeric_limits<double>::epsilon());
    for (int k = 0; k < unknowns; ++k) {
        double& moved = x[static_cast<std::size_t>(k)];
        const double by = at[k] == 0 ? step : step * std::abs(at[k]);
        moved = at[k] + by;
        const std::vector<double> above = residuals(x);
        moved = at[k] - by;
        const std::vector<double> below = residuals(x);
        moved = at[k];
        for (int row = 0; row < count; ++row) {
            const auto r = static_cast<std::size_t>(row);
            slopes[k * rows + row] = (above[r] - below[r]) / (2 * by);
        }
    }
    return 0;
}

}  // namespace

std::vector<double> least_squares(const Residuals& residuals, const std::vector<double>& start) {
    const std::size_t n = start.size();
    const std::size_t m = residuals(start).size();
    std::vector<double> x = start;
    // MINPACK's workspace, of the sizes that the documentation of lmder1 gives.
    std::vector<double> out(m);
    std::vector<double> slopes(m * n);
    std::vector<int> order(n);
    std::vector<double> work(5 * n + m);
    const double tolerance = std::sqrt(std::numeric_limits<double>::epsilon());
    lmder1(evaluate, const_cast<Residuals*>(&residuals), static_cast<int>(m), static_cast<int>(n),
           x.data(), out.data(), slopes.data(), static_cast<int>(m), tolerance, order.data(),
           work.data(), static_cast<int>(work.size()));
    return x;
}

double rms(const std::vector<double>& residuals) {
    double sum = 0;
    for (const double r : residuals) sum += r * r;
    return residuals.empty() ? 0 : std::sqrt(sum / static_cast<double>(residuals.size()));
}

}  // namespace lowhiss
