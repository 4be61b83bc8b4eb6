#include "lowhiss/measure/stability.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/analysis/loop_gain.hpp"
#include "lowhiss/analysis/network.hpp"
#include "lowhiss/analysis/poles.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

/// Loop gains are sampled at resonances sharper than this.
constexpr double sharp_q = 2;

void read_poles(const Poles& poles, Stability& stability) {
    double fastest = 0;
    for (const Complex& s : poles.growing) {
        stability.stable = false;
        if (s.imag() == 0) stability.modes.push_back({pole_hz(s), pole_q(s)});
        if (s.real() <= fastest) continue;
        fastest = s.real();
        stability.grows_hz = pole_hz(s);
        stability.latches = s.imag() == 0;
        stability.latch_time_s = stability.latches ? 1 / s.real() : unset;
    }
    for (const Complex& s : poles.s) {
        if (s.imag() <= 0) continue;
        const bool grows =
            std::find(poles.growing.begin(), poles.growing.end(), s) != poles.growing.end();
        // A pole right of the axis by no more than rounding is taken to be on it.
        stability.modes.push_back({pole_hz(s), s.real() > 0 && !grows ? infinite : pole_q(s)});
    }
    // A growing mode has a negative Q and comes before all others.
    const auto sharpness = [](const NaturalMode& mode) { return 1 / mode.q; };
    std::sort(
        stability.modes.begin(), stability.modes.end(),
        [&](const NaturalMode& a, const NaturalMode& b) { return sharpness(a) < sharpness(b); });
}

}  // namespace

const LoopMargins* Stability::worst_loop() const {
    const LoopMargins* worst = nullptr;
    for (const LoopMargins& loop : loops) {
        if (std::isnan(loop.phase_margin_deg)) continue;
        if (!worst || loop.phase_margin_deg < worst->phase_margin_deg) worst = &loop;
    }
    return worst;
}

const NaturalMode* Stability::sharpest() const {
    constexpr double above_hz = 20000;
    const auto found = std::find_if(modes.begin(), modes.end(), [](const NaturalMode& mode) {
        return mode.q < 0 || mode.frequency_hz > above_hz;
    });
    return found == modes.end() ? nullptr : &*found;
}

std::string instability_text(const Stability& stability) {
    if (stability.latches) {
        return "latches up with a time constant of " +
               print_quantity(stability.latch_time_s, Unit::second, 4);
    }
    return "oscillates at " + print_quantity(stability.grows_hz, Unit::hertz, 4);
}

Stability stability_of(Circuit circuit, const std::shared_ptr<const Plan>& plan) {
    circuit.lowest_hz = 0;
    circuit.highest_hz = infinite;
    Network network(std::move(circuit), plan);
    network.neglect_gains_below(1e-6);  // loops are asked for, not the gain
    Stability stability;
    const Poles poles = poles_of(network.pencil(), *network.plan());
    stability.known = poles.known;
    read_poles(poles, stability);
    std::vector<double> sharp_hz;
    for (const NaturalMode& mode : stability.modes) {
        if (std::abs(mode.q) > sharp_q) sharp_hz.push_back(mode.frequency_hz);
    }
    stability.loops = loop_margins(network, stability.known && stability.stable, sharp_hz);
    for (const LoopMargins& loop : stability.loops) {
        stability.loop_parts.push_back(
            network.circuit().parts[static_cast<std::size_t>(loop.part)].name);
    }
    return stability;
}

double loop_gain_db(Setting& setting, double frequency_hz) {
    Network& network = setting.network();
    double least = unset;
    for (const LoopSource& source : loop_sources(network.circuit())) {
        if (!std::holds_alternative<AmplifierSource>(source.law)) continue;
        least = std::fmin(least, std::abs(return_ratio(network, source, frequency_hz)));
    }
    return or_unset(db_from_ratio(least));
}

}  // namespace lowhiss
