#include "lowhiss/analysis/phase.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lowhiss {
namespace {

constexpr double largest_step = std::numbers::pi / 4;
constexpr int deepest = 40;

/// Limit on the responses between two neighbours. A turn takes eight, a sharp resonance two per
/// halving; if more are needed, the gain is zero apart from rounding.
constexpr int most_responses = 10'000;

/// The change of phase between two responses that the larger of their group delays predicts.
double foretold_step(const Response& a, const Response& b) {
    const double delay = std::max(std::abs(group_delay_s(a)), std::abs(group_delay_s(b)));
    return delay * 2 * std::numbers::pi * std::abs(b.frequency_hz - a.frequency_hz);
}

/// Changes of the phase between neighbouring responses.
class PhaseSteps {
  public:
    explicit PhaseSteps(Network& network) : network_(network) {}

    /// Unset if it cannot be determined.
    double between(const Response& a, const Response& b) {
        left_ = most_responses;
        try {
            return step(a, b, 0);
        } catch (const Error& error) {
            // A frequency between two of the caller's, which only the phase needs.
            if (error.kind() != Error::Kind::no_unique_solution) throw;
            return unset;
        }
    }

  private:
    double step(const Response& a, const Response& b, int depth) {
        if (a.gain == 0.0 || b.gain == 0.0) return unset;
        const double step_rad = std::arg(b.gain / a.gain);
        const bool sure =
            std::abs(step_rad) < largest_step && foretold_step(a, b) < 2 * largest_step;
        if (sure || depth >= deepest || a.frequency_hz == b.frequency_hz) return step_rad;
        if (--left_ < 0) return unset;
        const Response middle = network_.respond(std::sqrt(a.frequency_hz * b.frequency_hz));
        const double first_rad = step(a, middle, depth + 1);
        return std::isnan(first_rad) ? unset : first_rad + step(middle, b, depth + 1);
    }

    Network& network_;
    int left_ = 0;
};

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
    PhaseSteps steps(network);
    phase.resize(responses.size(), unset);
    phase[start] = std::arg(anchor.gain) + steps.between(anchor, responses[start]);
    for (std::size_t k = start; k + 1 < responses.size() && !std::isnan(phase[k]); ++k) {
        phase[k + 1] = phase[k] + steps.between(responses[k], responses[k + 1]);
    }
    for (std::size_t k = start; k > 0 && !std::isnan(phase[k]); --k) {
        phase[k - 1] = phase[k] - steps.between(responses[k - 1], responses[k]);
    }
    return phase;
}

}  // namespace lowhiss
