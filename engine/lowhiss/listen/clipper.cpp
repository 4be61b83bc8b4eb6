#include "lowhiss/listen/clipper.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lowhiss {
namespace {

constexpr std::size_t oversampling = 8;
constexpr std::size_t up_half = 32;  ///< samples of the stream on each side of an interpolated one
constexpr std::size_t up_length = 2 * up_half;

// Kaiser's estimates for a stopband of 100 dB.
constexpr double stopband_db = 100;
constexpr double kaiser_beta = 0.1102 * (stopband_db - 8.7);

/// A low-pass of unit gain at `t` samples from its middle: the cutoff in cycles a sample.
double windowed_sinc(double t, double half_length, double cutoff) {
    const double part = t / half_length;
    if (std::abs(part) >= 1) return 0;
    const double x = 2 * std::numbers::pi * cutoff * t;
    const double sinc = t == 0 ? 1 : std::sin(x) / x;
    const double window = std::cyl_bessel_i(0.0, kaiser_beta * std::sqrt(1 - part * part));
    return 2 * cutoff * sinc * window / std::cyl_bessel_i(0.0, kaiser_beta);
}

/// The length for a transition of that many cycles a sample, odd.
std::size_t kaiser_length(double transition) {
    const double order = (stopband_db - 8) / (2.285 * 2 * std::numbers::pi * transition);
    return 2 * static_cast<std::size_t>(std::ceil(order / 2)) + 1;
}

}  // namespace

Clipper::Clipper(const InsideRate& rate, double limit)
    : multiple_(static_cast<std::size_t>(rate.multiple)), limit_(limit) {
    // Phase p stands between samples 0 and 1 of the stream, at p / 8; tap j is of sample j - 31.
    const double transition = (stopband_db - 8) / (2.285 * 2 * std::numbers::pi * up_length);
    const double cutoff = 0.5 - transition / 2;
    up_.resize(oversampling * up_length);
    for (std::size_t p = 0; p < oversampling; ++p) {
        double gain = 0;
        for (std::size_t j = 0; j < up_length; ++j) {
            const double t = static_cast<double>(p) / oversampling -
                             (static_cast<double>(j) - static_cast<double>(up_half - 1));
            up_[p * up_length + j] = windowed_sinc(t, up_half, cutoff);
            gain += std::abs(up_[p * up_length + j]);
        }
        up_gain_ = std::max(up_gain_, gain);
    }
    const double fast_hz = oversampling * rate.hz();
    const std::size_t length = kaiser_length((rate.stop_hz - rate.pass_hz) / fast_hz);
    const std::size_t middle = length / 2;
    const auto half = static_cast<double>(middle);
    down_.reserve(length);
    for (std::size_t k = 0; k < length; ++k) {
        down_.push_back(windowed_sinc(static_cast<double>(k) - half, half + 1,
                                      (rate.stop_hz + rate.pass_hz) / 2 / fast_hz));
    }
    reach_ = length / 2 / oversampling + 1;
    padding_ = reach_ + up_length;
    stream_.assign(padding_, 0);
    excess_.assign(oversampling * padding_, 0);
    any_.assign(padding_, 0);
    done_ = next_ = padding_;
}

void Clipper::extend_excess() {
    const double safe = limit_ / up_gain_;
    excess_.resize(oversampling * stream_.size());
    any_.resize(stream_.size());
    // Samples that may reach the limit are rare in a sound that is not clipped. The distance to the
    // last one decides whether the eight interpolated values are computed at all.
    std::size_t quiet = 0;
    for (std::size_t k = done_ + 1 - up_half; k < std::min(done_ + up_half, stream_.size()); ++k) {
        quiet = std::abs(stream_[k]) > safe ? 0 : quiet + 1;
    }
    for (; done_ + up_half < stream_.size(); ++done_) {
        quiet = std::abs(stream_[done_ + up_half]) > safe ? 0 : quiet + 1;
        if (quiet >= up_length) continue;
        const double* samples = &stream_[done_ + 1 - up_half];
        for (std::size_t p = 0; p < oversampling; ++p) {
            double u = 0;
            for (std::size_t j = 0; j < up_length; ++j) u += samples[j] * up_[p * up_length + j];
            const double excess = std::clamp(u, -limit_, limit_) - u;
            excess_[oversampling * done_ + p] = excess;
            if (excess != 0) any_[done_] = 1;
        }
    }
}

void Clipper::emit(std::vector<double>& out, std::size_t available) {
    for (; next_ + reach_ < available; next_ += multiple_) {
        double sample = stream_[next_];
        const auto from = any_.begin() + static_cast<std::ptrdiff_t>(next_ - reach_);
        const auto to = any_.begin() + static_cast<std::ptrdiff_t>(next_ + reach_ + 1);
        if (std::find(from, to, 1) != to) {
            const double* e = &excess_[oversampling * next_ - down_.size() / 2];
            for (std::size_t k = 0; k < down_.size(); ++k) sample += e[k] * down_[k];
            const auto here = any_.begin() + static_cast<std::ptrdiff_t>(next_);
            const auto after = here + static_cast<std::ptrdiff_t>(multiple_);
            if (emitted_ < counted_ && std::find(here, after, 1) != after) ++clipped_;
        }
        ++emitted_;
        out.push_back(sample);
    }
}

void Clipper::process(std::span<const double> stream, std::vector<double>& out) {
    stream_.insert(stream_.end(), stream.begin(), stream.end());
    if (std::isfinite(limit_)) {
        extend_excess();
    } else {
        excess_.resize(oversampling * stream_.size());
        any_.resize(stream_.size());
        done_ = stream_.size();
    }
    emit(out, done_);
    const std::size_t used = std::min(next_, done_) - padding_;
    if (used < (std::size_t{1} << 16U)) return;
    const auto count = static_cast<std::ptrdiff_t>(used);
    stream_.erase(stream_.begin(), stream_.begin() + count);
    excess_.erase(excess_.begin(),
                  excess_.begin() + static_cast<std::ptrdiff_t>(oversampling) * count);
    any_.erase(any_.begin(), any_.begin() + count);
    done_ -= used;
    next_ -= used;
}

void Clipper::finish(std::vector<double>& out) {
    process(std::vector<double>(padding_ + multiple_, 0), out);
}

}  // namespace lowhiss
