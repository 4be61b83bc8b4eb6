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
    const auto excess = [&](double ln_hz) {
        const double f_hz = std::clamp(std::exp(ln_hz), circuit.lowest_hz, circuit.highest_hz);
        const double power = std::norm(network.respond(f_hz).gain) / half_power;
        return std::log(std::max(power, std::numeric_limits<double>::min()));
    };
    const double step = std::numbers::ln10 / scan_per_decade * (which == Corner::low ? -1 : 1);
    const double limit = which == Corner::low ? std::log(std::max(lowest_hz, circuit.lowest_hz))
                                              : std::log(std::min(highest_hz, circuit.highest_hz));
    double inner = std::log(reference_hz);
    double inner_excess = std::numbers::ln2;
    while (inner != limit) {
        const double next = inner + step;
        const bool last = which == Corner::low ? next <= limit : next >= limit;
        const double outer = last ? limit : next;
        const double outer_excess = excess(outer);
        if (outer_excess <= 0) {
            std::uintmax_t steps = most_root_steps;
            const bool low = which == Corner::low;
            const auto [a, b] = boost::math::tools::toms748_solve(
                excess, low ? outer : inner, low ? inner : outer, low ? outer_excess : inner_excess,
                low ? inner_excess : outer_excess,
                [](double x, double y) { return std::abs(x - y) < settled_ln_hz; }, steps);
            return std::exp((a + b) / 2);
        }
        inner = outer;
        inner_excess = outer_excess;
    }
    return unset;
}

}  // namespace lowhiss
