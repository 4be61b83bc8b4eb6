#include "lowhiss/measure/extremes.hpp"

#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <cmath>
#include <vector>

#include "lowhiss/board/part.hpp"

namespace lowhiss {
namespace {

constexpr double points_per_decade = 24;
constexpr int bits = 26;  // of ln f; near an extreme the value has twice as many

/// The smallest of sign * curve.
Extreme smallest(const std::function<double(double)>& curve, const std::vector<double>& at_hz,
                 const std::vector<double>& values, double sign) {
    std::size_t best = values.size();
    for (std::size_t k = 0; k < values.size(); ++k) {
        if (std::isnan(values[k])) continue;
        if (best == values.size() || sign * values[k] < sign * values[best]) best = k;
    }
    if (best == values.size()) return {unset, unset};
    const Extreme found{values[best], at_hz[best]};
    if (best == 0 || best + 1 == values.size()) return found;
    const auto objective = [&](double ln_hz) { return sign * curve(std::exp(ln_hz)); };
    const auto [ln_hz, value] = boost::math::tools::brent_find_minima(
        objective, std::log(at_hz[best - 1]), std::log(at_hz[best + 1]), bits);
    return value < sign * found.value ? Extreme{sign * value, std::exp(ln_hz)} : found;
}

}  // namespace

std::vector<double> scan_frequencies_hz(const Band& band, std::span<const double> also_hz) {
    const double decades = std::log10(band.to_hz / band.from_hz);
    const double count = std::max(1.0, std::ceil(decades * points_per_decade));
    std::vector<double> list{band.to_hz};
    for (double k = 0; k < count; ++k) {
        list.push_back(band.from_hz * std::pow(band.to_hz / band.from_hz, k / count));
    }
    for (const double f_hz : also_hz) {
        if (f_hz > band.from_hz && f_hz < band.to_hz) list.push_back(f_hz);
    }
    std::sort(list.begin(), list.end());
    return list;
}

Extremes extremes_over_band(const std::function<double(double)>& curve, const Band& band,
                            std::span<const double> also_hz) {
    const std::vector<double> at_hz = scan_frequencies_hz(band, also_hz);
    std::vector<double> values;
    for (const double f_hz : at_hz) values.push_back(curve(f_hz));
    return {smallest(curve, at_hz, values, 1), smallest(curve, at_hz, values, -1)};
}

}  // namespace lowhiss
