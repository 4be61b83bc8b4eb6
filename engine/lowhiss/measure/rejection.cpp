#include "lowhiss/measure/rejection.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "lowhiss/analysis/integrate.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/topology/components.hpp"

namespace lowhiss {
namespace {

/// A gain below this fraction of the wanted signal's, 240 dB, is lost in rounding.
constexpr double rounding = 1e-12;

/// Common-mode gains are right to 1e-9 of this fraction of the wanted gain, so that one that is not
/// lost in rounding is right to 0.01 dB.
constexpr double smallest_common = 1e-6;

/// Allowed noise of a supply is ten decibels below the board's own: by this ratio of power.
constexpr double allowed_ratio = 10;

double ratio_db(double over, double under) {
    return or_unset(db_from_ratio(over / under));
}

/// Whether neither input terminal is ground for signals.
bool is_balanced(const Circuit& circuit) {
    const std::vector<int> component = components_of(circuit.nodes.size(), tied_pairs(circuit));
    return component[static_cast<std::size_t>(circuit.input_plus)] != component[0] &&
           component[static_cast<std::size_t>(circuit.input_minus)] != component[0];
}

/// The equation that says what the source's voltage is, or -1.
int equation_of(const Circuit& circuit, const std::string& source) {
    for (const SupplySource& supply : circuit.supplies) {
        if (circuit.parts[static_cast<std::size_t>(supply.part)].name == source) {
            return supply.equation;
        }
    }
    return -1;
}

/// Output volts by one volt in an equation: the adjoint's value there, 0 where it is lost in
/// rounding.
double gain_from(Network& network, double frequency_hz, int equation) {
    const Solution solution = network.solve(frequency_hz);
    const double gain = std::abs(solution.y[static_cast<std::size_t>(equation)]);
    return gain > rounding * std::abs(solution.gain) ? gain : 0;
}

/// The largest voltage against ground at an amplifier's input pin that passive parts lead to.
double largest_input_v(const Circuit& circuit, const std::vector<Complex>& x) {
    const std::vector<bool> reached = passively_reached(circuit);
    double most_v = unset;
    const auto look_at = [&](int node) {
        if (!reached[static_cast<std::size_t>(node)]) return;
        const double v = std::abs(node_voltage(x, node));
        if (!(v <= most_v)) most_v = v;
    };
    for (const Element& element : circuit.elements) {
        if (const auto* opamp = std::get_if<Amplifier>(&element.law)) {
            look_at(opamp->plus);
            look_at(opamp->minus);
        } else if (const auto* ic = std::get_if<PreampStage>(&element.law)) {
            for (const int input : ic->inputs) look_at(input);
        }
    }
    return most_v;
}

/// The voltage against ground that a generator of 1 V makes at a terminal of an open input: half of
/// it if it is between the terminals of a balanced input, else all of it.
double open_input_v(const Circuit& circuit, CircuitKind kind) {
    return kind == CircuitKind::radio && is_balanced(circuit) ? 0.5 : 1;
}

double radio_db(Setting& setting, double frequency_hz, CircuitKind kind) {
    Network& network = setting.network(kind);
    network.neglect_gains_below(1e-6);  // voltages at inputs are asked for, not the gain
    const Solution solution = network.solve(frequency_hz);
    const double arrives_v = largest_input_v(network.circuit(), solution.x);
    if (!(arrives_v > rounding)) return unset;
    return ratio_db(open_input_v(network.circuit(), kind), arrives_v);
}

/// Unset where so little comes through that it is lost in rounding.
double common_db(Setting& setting, double frequency_hz, CircuitKind kind) {
    const double signal = std::abs(setting.at(frequency_hz).gain);
    try {
        Network& network = setting.network(kind);
        network.neglect_gains_below(smallest_common * signal);
        const double common = std::abs(network.respond(frequency_hz).gain);
        return common > rounding * signal ? ratio_db(signal, common) : unset;
    } catch (const Error&) {
        return unset;
    }
}

double feed_db(Setting& setting, double frequency_hz, CircuitKind kind) {
    Network& network = setting.network(kind);
    const int equation = equation_of(network.circuit(), std::string(feed_part));
    return ratio_db(1, gain_from(network, frequency_hz, equation));
}

/// The integral of the squared gain from a source over a band, in Hz.
double noise_gain_hz(Setting& setting, const Band& band, int equation) {
    Network& network = setting.network();
    const auto densities = [&](std::span<const double> frequency_hz, std::span<double> values) {
        for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
            values[k] = std::pow(gain_from(network, frequency_hz[k], equation), 2);
        }
    };
    return integrate_over_band(densities, 1, 1, band.from_hz, band.to_hz, setting.resonances_hz())
        .front();
}

double total_output_v(const std::vector<RippleArrival>& arrivals) {
    const double power_v2 = std::accumulate(
        arrivals.begin(), arrivals.end(), 0.0,
        [](double sum, const RippleArrival& each) { return sum + each.output_v * each.output_v; });
    return std::sqrt(power_v2);
}

}  // namespace

std::vector<bool> passively_reached(const Circuit& circuit) {
    const PassiveWays ways = passive_ways(circuit);
    const auto held = [&](int node) { return ways.held[static_cast<std::size_t>(node)]; };
    std::vector<NodePair> free;
    for (const NodePair& pair : ways.pairs) {
        if (!held(pair.first) && !held(pair.second)) free.push_back(pair);
    }
    const std::vector<int> component = components_of(circuit.nodes.size(), free);
    std::vector<bool> reached(circuit.nodes.size());
    for (const int input : {circuit.input_plus, circuit.input_minus}) {
        for (std::size_t node = 0; node < reached.size(); ++node) {
            if (component[node] == component[static_cast<std::size_t>(input)]) reached[node] = true;
        }
    }
    // A signal that arrives at a held node goes no further.
    for (const auto& [a, b] : ways.pairs) {
        if (held(a) == held(b)) continue;
        const auto free_node = static_cast<std::size_t>(held(a) ? b : a);
        const auto held_node = static_cast<std::size_t>(held(a) ? a : b);
        if (reached[free_node]) reached[held_node] = true;
    }
    return reached;
}

CircuitKind common_mode_circuit(Setting& setting, double frequency_hz) {
    if (setting.board().input.mismatch_ohm == 0) return CircuitKind::common;
    const double plus_db = common_db(setting, frequency_hz, CircuitKind::common);
    const double minus_db = common_db(setting, frequency_hz, CircuitKind::common_swapped);
    return minus_db < plus_db || std::isnan(plus_db) ? CircuitKind::common_swapped
                                                     : CircuitKind::common;
}

double common_mode_rejection_db(Setting& setting, double frequency_hz) {
    if (!is_balanced(setting.circuit())) return unset;
    return common_db(setting, frequency_hz, common_mode_circuit(setting, frequency_hz));
}

std::vector<std::string> supply_sources(Setting& setting) {
    std::vector<std::string> names;
    const Circuit& circuit = setting.circuit();
    for (const SupplySource& source : circuit.supplies) {
        names.push_back(circuit.parts[static_cast<std::size_t>(source.part)].name);
    }
    return names;
}

double supply_rejection_db(Setting& setting, double frequency_hz, const std::string& source) {
    const int equation = equation_of(setting.circuit(), source);
    if (equation < 0) return unset;
    return ratio_db(std::abs(setting.at(frequency_hz).gain),
                    gain_from(setting.network(), frequency_hz, equation));
}

double feed_rejection_db(Setting& setting, double frequency_hz) {
    if (!setting.board().feed) return unset;
    return std::fmin(feed_db(setting, frequency_hz, CircuitKind::mismatched_feed),
                     feed_db(setting, frequency_hz, CircuitKind::mismatched_feed_swapped));
}

std::vector<RippleArrival> ripple_arrivals(Setting& setting, const Band& band) {
    std::vector<RippleArrival> arrivals;
    const double gain = std::abs(setting.at(reference_hz).gain);
    for (const Ripple& ripple : setting.board().ripples) {
        const int equation = equation_of(setting.circuit(), ripple.source);
        if (equation < 0) continue;  // not fitted in this assembly
        for (const Ripple::Line& line : ripple.lines) {
            const double output_v =
                line.rms_v * gain_from(setting.network(), line.frequency_hz, equation);
            arrivals.push_back(
                {ripple.name, line.frequency_hz, line.rms_v, output_v, or_unset(output_v / gain)});
        }
        if (ripple.density_v_rthz == 0) continue;
        const double output_v =
            ripple.density_v_rthz * std::sqrt(noise_gain_hz(setting, band, equation));
        arrivals.push_back({ripple.name, unset,
                            ripple.density_v_rthz * std::sqrt(band.to_hz - band.from_hz), output_v,
                            or_unset(output_v / gain)});
    }
    return arrivals;
}

double ripple_output_dbu(Setting& setting, const Band& band) {
    return or_unset(dbu_from_v(total_output_v(ripple_arrivals(setting, band))));
}

double quiet_level_v(Setting& setting, const Band& band, const std::string& source) {
    const int equation = equation_of(setting.circuit(), source);
    if (equation < 0) return unset;
    const double allowed_v2 = setting.noise(band).power_v2 / allowed_ratio;
    const double gain_hz = noise_gain_hz(setting, band, equation);
    return or_unset(std::sqrt(allowed_v2 / gain_hz * (band.to_hz - band.from_hz)));
}

double radio_rejection_db(Setting& setting, double frequency_hz) {
    return radio_db(setting, frequency_hz, CircuitKind::radio);
}

double radio_common_rejection_db(Setting& setting, double frequency_hz) {
    const double swapped_db =
        setting.board().input.mismatch_ohm == 0
            ? unset
            : radio_db(setting, frequency_hz, CircuitKind::radio_common_swapped);
    return std::fmin(radio_db(setting, frequency_hz, CircuitKind::radio_common), swapped_db);
}

}  // namespace lowhiss
