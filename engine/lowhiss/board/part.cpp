#include "lowhiss/board/part.hpp"

#include <algorithm>
#include <cmath>

namespace lowhiss {
namespace {

double log_fraction(double midpoint, double rotation) {
    const double root = 1 / midpoint - 1;
    if (root == 1) return rotation;  // midpoint one half: the law's limit is linear
    const double ln_b = 2 * std::log(root);
    if (ln_b < 0) return std::expm1(rotation * ln_b) / std::expm1(ln_b);
    // The same over b, which overflows for a midpoint below 1e-154.
    return std::exp((rotation - 1) * ln_b) * std::expm1(-rotation * ln_b) / std::expm1(-ln_b);
}

double table_fraction(const std::vector<std::pair<double, double>>& points, double rotation) {
    const auto above = std::find_if(points.begin() + 1, points.end() - 1,
                                    [&](const auto& point) { return point.first >= rotation; });
    const auto& [x0, y0] = *(above - 1);
    const auto& [x1, y1] = *above;
    return y0 + (y1 - y0) * (rotation - x0) / (x1 - x0);
}

}  // namespace

Tolerance tolerance_of(const Part& part) {
    return std::visit(
        [](const auto& data) -> Tolerance {
            if constexpr (requires { data.tolerance; }) return data.tolerance;
            return {};
        },
        part.data);
}

TemperatureCoefficient temperature_coefficient_of(const Part& part) {
    return std::visit(
        [](const auto& data) -> TemperatureCoefficient {
            if constexpr (requires { data.temperature_coefficient; }) {
                return data.temperature_coefficient;
            }
            return {};
        },
        part.data);
}

double taper_fraction(const Potentiometer& potentiometer, double rotation) {
    switch (potentiometer.taper.kind) {
        case Taper::Kind::linear:
            return rotation;
        case Taper::Kind::log:
            return log_fraction(potentiometer.midpoint, rotation);
        case Taper::Kind::reverse_log:
            return 1 - log_fraction(potentiometer.midpoint, 1 - rotation);
        case Taper::Kind::table:
            return table_fraction(potentiometer.taper.points, rotation);
    }
    return unset;
}

std::pair<double, double> track_ohm(const Potentiometer& potentiometer, double rotation) {
    const double fraction = taper_fraction(potentiometer, rotation);
    return {potentiometer.end_resistance_ohm + potentiometer.resistance_ohm * fraction,
            potentiometer.end_resistance_ohm + potentiometer.resistance_ohm * (1 - fraction)};
}

}  // namespace lowhiss
