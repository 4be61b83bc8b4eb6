#include "lowhiss/fit/least_squares.hpp"

#include <cminpack.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <limits>
#include <span>

namespace lowhiss {
namespace {

struct Problem {
    const Residuals& residuals;
    std::exception_ptr failure;  ///< thrown again once MINPACK, which is C, has returned
};

/// Slopes by central differences, an unknown a column. The step has the cube root of the rounding,
/// where cutting off the series costs as much as rounding does.
void find_slopes(const Residuals& residuals, std::vector<double> x, std::span<double> slopes) {
    const double step = std::cbrt(std::numeric_limits<double>::epsilon());
    const std::size_t rows = slopes.size() / x.size();
    for (std::size_t k = 0; k < x.size(); ++k) {
        const double at = x[k];
        const double by = at == 0 ? step : step * std::abs(at);
        x[k] = at + by;
        const std::vector<double> above = residuals(x);
        x[k] = at - by;
        const std::vector<double> below = residuals(x);
        x[k] = at;
        for (std::size_t row = 0; row < rows; ++row) {
            slopes[k * rows + row] = (above[row] - below[row]) / (2 * by);
        }
    }
}

/// Called by MINPACK: the residuals at `at` if `wanted` is 1, otherwise their slopes. A negative
/// result ends the search.
int evaluate(void* asked, int count, int unknowns, const double* at, double* out, double* slopes,
             int /*leading*/, int wanted) {
    auto& problem = *static_cast<Problem*>(asked);
    try {
        const std::vector<double> x(at, at + unknowns);
        if (wanted == 1)
            std::ranges::copy(problem.residuals(x), out);
        else
            find_slopes(problem.residuals, x, {slopes, static_cast<std::size_t>(count * unknowns)});
        return 0;
    } catch (...) {
        problem.failure = std::current_exception();
        return -1;
    }
}

}  // namespace

std::vector<double> least_squares(const Residuals& residuals, const std::vector<double>& start) {
    const std::size_t n = start.size();
    const std::size_t m = residuals(start).size();
    std::vector<double> x = start;
    // MINPACK's own room, of the sizes that its documentation of lmder1 asks for.
    std::vector<double> out(m);
    std::vector<double> slopes(m * n);
    std::vector<int> order(n);
    std::vector<double> work(5 * n + m);
    const double tolerance = std::sqrt(std::numeric_limits<double>::epsilon());
    Problem problem{residuals, nullptr};
    lmder1(evaluate, &problem, static_cast<int>(m), static_cast<int>(n), x.data(), out.data(),
           slopes.data(), static_cast<int>(m), tolerance, order.data(), work.data(),
           static_cast<int>(work.size()));
    if (problem.failure) std::rethrow_exception(problem.failure);
    return x;
}

double rms(const std::vector<double>& residuals) {
    double sum = 0;
    for (const double r : residuals) sum += r * r;
    return residuals.empty() ? 0 : std::sqrt(sum / static_cast<double>(residuals.size()));
}

}  // namespace lowhiss
