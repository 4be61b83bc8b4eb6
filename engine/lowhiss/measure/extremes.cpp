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
constexpr double negligible = 1e-10;

/// Finds the smallest of sign * curve.
class Smallest {
  public:
    Smallest(const std::function<double(double)>& curve, const std::vector<double>& at_hz,
             const std::vector<double>& values, double sign)
        : curve_(curve), at_hz_(at_hz), sign_(sign) {
        for (const double value : values) values_.push_back(sign * value);
    }

    Extreme find() {
        for (std::size_t k = 0; k < values_.size(); ++k) keep(values_[k], at_hz_[k]);
        if (std::isnan(least_.value)) return {unset, unset};
        for (std::size_t k = 0; k < values_.size(); ++k) {
            // Between its neighbours a smooth curve falls below the scanned minimum by less than
            // they rise above it.
            const double rise = rise_beside(k);
            if (rise > negligible * (1 + std::abs(values_[k])) &&
                values_[k] - rise < least_.value) {
                sharpen(k);
            }
        }
        return {sign_ * least_.value, least_.at_hz};
    }

  private:
    void keep(double value, double f_hz) {
        if (!std::isnan(value) && !(value >= least_.value)) least_ = {value, f_hz};
    }

    /// The rise from a local minimum to its higher neighbour; 0 elsewhere.
    double rise_beside(std::size_t k) const {
        const double left = k == 0 ? values_[k] : values_[k - 1];
        const double right = k + 1 == values_.size() ? values_[k] : values_[k + 1];
        if (left < values_[k] || right < values_[k]) return 0;
        return std::fmax(left, right) - values_[k];
    }

    void sharpen(std::size_t k) {
        const std::size_t last = values_.size() - 1;
        const double low = std::log(at_hz_[k == 0 ? 0 : k - 1]);
        const double high = std::log(at_hz_[k == last ? last : k + 1]);
        if (low == high) return;
        const auto objective = [&](double ln_hz) { return sign_ * curve_(std::exp(ln_hz)); };
        if (k == 0 || k == last) {
            // At an end of the band the curve may be monotonic.
            constexpr double step = 0.01;
            const double beside = k == 0 ? low + step * (high - low) : high - step * (high - low);
            if (!(objective(beside) < values_[k])) return;
        }
        const auto [ln_hz, value] =
            boost::math::tools::brent_find_minima(objective, low, high, bits);
        keep(value, std::exp(ln_hz));
    }

    const std::function<double(double)>& curve_;
    const std::vector<double>& at_hz_;
    std::vector<double> values_;
    double sign_;
    Extreme least_{unset, unset};
};

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
    values.reserve(at_hz.size());
    for (const double f_hz : at_hz) values.push_back(curve(f_hz));
    return {Smallest(curve, at_hz, values, 1).find(), Smallest(curve, at_hz, values, -1).find()};
}

}  // namespace lowhiss
