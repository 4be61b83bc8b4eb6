#include "lowhiss/fit/fit_noise.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"

namespace lowhiss {

std::variant<NoiseFit, FitProblem> fit_noise(std::vector<NoisePoint> points) {
    std::sort(points.begin(), points.end(),
              [](const auto& a, const auto& b) { return a.frequency_hz < b.frequency_hz; });
    if (points.size() < 2) {
        return FitProblem{"one point has no corner", "two points or more"};
    }
    const auto twice = std::adjacent_find(
        points.begin(), points.end(),
        [](const auto& a, const auto& b) { return a.frequency_hz == b.frequency_hz; });
    if (twice != points.end()) {
        return FitProblem{
            fmt::format("{} is given twice", print_quantity(twice->frequency_hz, Unit::hertz)),
            "each frequency once"};
    }
    // Relative to the power that was measured: 1 = a u + b v with a = floor², b = floor² corner.
    double uu = 0;
    double uv = 0;
    double vv = 0;
    double u1 = 0;
    double v1 = 0;
    for (const NoisePoint& p : points) {
        const double scale = p.density / points.back().density;
        const double u = 1 / (scale * scale);
        const double v = u * points.front().frequency_hz / p.frequency_hz;
        uu += u * u;
        uv += u * v;
        vv += v * v;
        u1 += u;
        v1 += v;
    }
    const double determinant = uu * vv - uv * uv;
    const double a = (u1 * vv - v1 * uv) / determinant;
    double b = (uu * v1 - uv * u1) / determinant;
    constexpr double rounding = 1e-9;
    if (!(a > rounding)) {
        return FitProblem{
            "the noise falls faster with frequency than 1/f noise does, so that the "
            "floor would be negative",
            "densities, not powers, that fall by at most the root of the frequency"};
    }
    if (b < -rounding * a) {
        return FitProblem{"the noise rises with frequency, so that the corner would be negative",
                          "densities that fall with frequency to a floor, or stay"};
    }
    b = std::max(b, 0.0);
    NoiseFit fit;
    fit.floor = std::sqrt(a) * points.back().density;
    fit.corner_hz = b / a * points.front().frequency_hz;
    double sum = 0;
    fit.residual.worst_hz = points.front().frequency_hz;
    for (const NoisePoint& p : points) {
        const double fitted = fit.floor * std::sqrt(1 + fit.corner_hz / p.frequency_hz);
        const double off = std::abs(fitted / p.density - 1);
        sum += off * off;
        if (off <= fit.residual.worst) continue;
        fit.residual.worst = off;
        fit.residual.worst_hz = p.frequency_hz;
    }
    fit.residual.rms = std::sqrt(sum / static_cast<double>(points.size()));
    return fit;
}

}  // namespace lowhiss
