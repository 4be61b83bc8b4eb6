#include "lowhiss/listen/loudness.hpp"

#include <cmath>
#include <numbers>

#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

constexpr double printed_rate_hz = 48000;
constexpr std::array<Biquad, 2> printed = {
    Biquad{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241,
           0.73248077421585},
    Biquad{1, -2, 1, -1.99004745483398, 0.99007225036621}};

constexpr double absolute_gate_lufs = -70;
constexpr double relative_gate_lu = -10;
constexpr std::size_t steps_of_a_block = 4;

/// A stage at another rate. With K = tan(pi f0 / rate), s = (1 - z^-1) / (K (1 + z^-1)) turns
/// (V s^2 + W s + X) / (s^2 + s / Q + 1) into coefficients whose sums and differences give K, 1 / Q
/// and V, W, X back.
Biquad at_rate(const Biquad& q, double rate_hz) {
    const double at_half_rate = 1 - q.a1 + q.a2;  // 4 over the common divisor
    const double k0 = std::sqrt((1 + q.a1 + q.a2) / at_half_rate);
    const double damping = 2 * (1 - q.a2) / at_half_rate / k0;
    const double high = (q.b0 - q.b1 + q.b2) / at_half_rate;
    const double middle = 2 * (q.b0 - q.b2) / at_half_rate / k0;
    const double low = (q.b0 + q.b1 + q.b2) / at_half_rate / (k0 * k0);
    const double f0_hz = std::atan(k0) * printed_rate_hz / std::numbers::pi;
    const double k = std::tan(std::numbers::pi * f0_hz / rate_hz);
    const double divisor = 1 + damping * k + k * k;
    return {(high + middle * k + low * k * k) / divisor, 2 * (low * k * k - high) / divisor,
            (high - middle * k + low * k * k) / divisor, 2 * (k * k - 1) / divisor,
            (1 - damping * k + k * k) / divisor};
}

double lufs_from_power(double power) {
    return -0.691 + db_from_power_ratio(power);
}

/// The mean of the blocks above a gate; unset if there is none.
double mean_above(const std::vector<double>& blocks, double gate_lufs) {
    double sum = 0;
    std::size_t count = 0;
    for (const double power : blocks) {
        if (!(lufs_from_power(power) > gate_lufs)) continue;
        sum += power;
        ++count;
    }
    return count == 0 ? unset : sum / static_cast<double>(count);
}

}  // namespace

std::array<Biquad, 2> k_weighting(double rate_hz) {
    return {at_rate(printed[0], rate_hz), at_rate(printed[1], rate_hz)};
}

LoudnessMeter::LoudnessMeter(double rate_hz, std::size_t channels)
    : channels_(channels),
      stages_(k_weighting(rate_hz)),
      states_(channels),
      step_frames_(static_cast<std::size_t>(std::lround(rate_hz / 10))) {}

void LoudnessMeter::add(std::span<const double> frames) {
    for (std::size_t k = 0; k < frames.size(); ++k) {
        double x = frames[k];
        auto& states = states_[k % channels_];
        for (std::size_t stage = 0; stage < stages_.size(); ++stage) {
            const Biquad& q = stages_[stage];
            State& s = states[stage];
            const double y = q.b0 * x + q.b1 * s.x1 + q.b2 * s.x2 - q.a1 * s.y1 - q.a2 * s.y2;
            s = {x, s.x1, y, s.y1};
            x = y;
        }
        step_sum_ += x * x;
        if (k % channels_ + 1 < channels_ || ++in_step_ < step_frames_) continue;
        steps_.push_back(step_sum_ / static_cast<double>(step_frames_));
        in_step_ = 0;
        step_sum_ = 0;
    }
}

double LoudnessMeter::integrated_lufs() const {
    std::vector<double> blocks;
    for (std::size_t k = 0; k + steps_of_a_block <= steps_.size(); ++k) {
        double sum = 0;
        for (std::size_t j = 0; j < steps_of_a_block; ++j) sum += steps_[k + j];
        blocks.push_back(sum / static_cast<double>(steps_of_a_block));
    }
    const double ungated = mean_above(blocks, absolute_gate_lufs);
    if (std::isnan(ungated)) return unset;
    const double gate_lufs =
        std::max(absolute_gate_lufs, lufs_from_power(ungated) + relative_gate_lu);
    return lufs_from_power(mean_above(blocks, gate_lufs));
}

}  // namespace lowhiss
