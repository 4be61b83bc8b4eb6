#include "lowhiss/measure/corner.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

constexpr double lowest_hz = 1e-3;
constexpr double highest_hz = 1e9;
constexpr double scan_per_decade = 8;
constexpr double settled_ln_hz = 1e-10;
constexpr std::uintmax_t most_root_steps = 60;

}  // namespace

double corner_hz(Network& network, const Response& reference, Corner which) {
    const double half_power = std::norm(reference.gain) / 2;
    if (half_power == 0) return unset;
    const Circuit& circuit = network.circuit();
    // exp(log(f)) may lie a rounding beyond the end of a measured capsule.
    const auto frequency_hz = [&](double ln_hz) {
        return std::clamp(std::exp(ln_hz), circuit.lowest_hz, circuit.highest_hz);
    };
    const auto excess_of = [&](const Response& response) {
        const double power = std::norm(response.gain) / half_power;
        return std::log(std::max(power, std::numeric_limits<double>::min()));
    };
    const auto excess = [&](double ln_hz) {
        return excess_of(network.respond(frequency_hz(ln_hz)));
    };
    const bool low = which == Corner::low;
    const double step = std::numbers::ln10 / scan_per_decade * (low ? -1 : 1);
    const double limit = low ? std::log(std::max(lowest_hz, circuit.lowest_hz))
                             : std::log(std::min(highest_hz, circuit.highest_hz));
    double inner = std::log(reference_hz);
    double inner_excess = std::numbers::ln2;
    while (inner != limit) {
        // As many steps as are solved at a time.
        std::vector<double> steps_ln_hz;
        std::vector<double> steps_hz;
        for (double at = inner; at != limit && steps_hz.size() < lanes;) {
            const double next = at + step;
            at = (low ? next <= limit : next >= limit) ? limit : next;
            steps_ln_hz.push_back(at);
            steps_hz.push_back(frequency_hz(at));
        }
        const std::vector<Response> responses = network.respond_all(steps_hz);
        for (std::size_t k = 0; k < responses.size(); ++k) {
            const double outer = steps_ln_hz[k];
            const double outer_excess = excess_of(responses[k]);
            if (outer_excess <= 0) {
                std::uintmax_t steps = most_root_steps;
                const auto [a, b] = boost::math::tools::toms748_solve(
                    excess, low ? outer : inner, low ? inner : outer,
                    low ? outer_excess : inner_excess, low ? inner_excess : outer_excess,
                    [](double x, double y) { return std::abs(x - y) < settled_ln_hz; }, steps);
                return std::exp((a + b) / 2);
            }
            inner = outer;
            inner_excess = outer_excess;
        }
    }
    return unset;
}

}  // namespace lowhiss
