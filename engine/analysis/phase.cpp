#include "lowhiss/analysis/phase.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lowhiss {
namespace {

constexpr double largest_step = std::numbers::pi / 4;
constexpr int deepest = 40;

/// What the phase would move by between two responses at the delay of either.
double foretold_step(const Response& a, const Response& b) {
    const double delay = std::max(std::abs(group_delay_s(a)), std::abs(group_delay_s(b)));
    return delay * 2 * std::numbers::pi * std::abs(b.frequency_hz - a.frequency_hz);
}

double phase_step(Network& network, const Response& a, const Response& b, int depth) {
    const double step = std::arg(b.gain / a.gain);
    const bool sure = std::abs(step) < largest_step && foretold_step(a, b) < 2 * largest_step;
    if (sure || depth >= deepest || a.frequency_hz == b.frequency_hz) return step;
    const Response middle = network.respond(std::sqrt(a.frequency_hz * b.frequency_hz));
    return phase_step(network, a, middle, depth + 1) + phase_step(network, middle, b, depth + 1);
}

}  // namespace

double group_delay_s(const Response& response) {
    return -std::imag(response.gain_slope_s / response.gain);
}

std::vector<double> unwrapped_phase(Network& network, const std::vector<Response>& responses,
                                    double anchor_hz) {
    std::vector<double> phase;
    if (responses.empty()) return phase;
    const auto nearest =
        std::min_element(responses.begin(), responses.end(), [&](const auto& a, const auto& b) {
            return std::abs(std::log(a.frequency_hz / anchor_hz)) <
                   std::abs(std::log(b.frequency_hz / anchor_hz));
        });
    const auto start = static_cast<std::size_t>(nearest - responses.begin());
    const Response anchor = network.respond(anchor_hz);
    phase.resize(responses.size());
    phase[start] = std::arg(anchor.gain) + phase_step(network, anchor, responses[start], 0);
    for (std::size_t k = start; k + 1 < responses.size(); ++k) {
        phase[k + 1] = phase[k] + phase_step(network, responses[k], responses[k + 1], 0);
    }
    for (std::size_t k = start; k > 0; --k) {
        phase[k - 1] = phase[k] - phase_step(network, responses[k - 1], responses[k], 0);
    }
    return phase;
}

}  // namespace lowhiss
