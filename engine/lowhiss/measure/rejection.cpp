#include "lowhiss/measure/rejection.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "lowhiss/analysis/integrate.hpp"
#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

/// What is left of nothing, in parts of the signal.
constexpr double rounding = 1e-12;

double ratio_db(double over, double under) {
    return or_unset(db_from_ratio(over / under));
}

/// Whether a node is ground for signals, by shorts and voltage sources.
bool is_grounded(const Circuit& circuit, int node) {
    std::vector<bool> grounded(circuit.nodes.size());
    grounded[0] = true;
    for (bool more = true; more;) {
        more = false;
        for (const Element& element : circuit.elements) {
            const auto* e = std::get_if<Branch>(&element.law);
            if (!e || e->resistance_ohm != 0 || e->inductance_h != 0) continue;
            if (e->current == circuit.emf_current) continue;
            const auto a = static_cast<std::size_t>(e->a);
            const auto b = static_cast<std::size_t>(e->b);
            if (grounded[a] == grounded[b]) continue;
            grounded[a] = grounded[b] = true;
            more = true;
        }
    }
    return grounded[static_cast<std::size_t>(node)];
}

bool is_balanced(Setting& setting) {
    const Circuit& circuit = setting.network().circuit();
    return !is_grounded(circuit, circuit.input_plus) && !is_grounded(circuit, circuit.input_minus);
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

/// Output volts by one volt in an equation: the adjoint's value there.
double gain_from(Network& network, double frequency_hz, int equation) {
    const Solution solution = network.solve(frequency_hz);
    return std::abs(solution.y[static_cast<std::size_t>(equation)]);
}

/// Nodes that the input terminals lead to through passive parts: not over ground, not past an
/// amplifier's output.
std::vector<bool> passively_reached(const Circuit& circuit) {
    std::vector<bool> ends(circuit.nodes.size());
    std::vector<std::pair<int, int>> ways;
    for (const Element& element : circuit.elements) {
        if (const auto* e = std::get_if<Conductance>(&element.law)) {
            ways.emplace_back(e->a, e->b);
        } else if (const auto* c = std::get_if<Capacitance>(&element.law)) {
            ways.emplace_back(c->a, c->b);
        } else if (const auto* s = std::get_if<SeriesCapacitor>(&element.law)) {
            ways.emplace_back(s->a, s->b);
        } else if (const auto* b = std::get_if<Branch>(&element.law)) {
            ways.emplace_back(b->a, b->b);
        } else if (const auto* opamp = std::get_if<Amplifier>(&element.law)) {
            ends[static_cast<std::size_t>(opamp->out)] = true;
        } else if (const auto* ic = std::get_if<PreampStage>(&element.law)) {
            ends[static_cast<std::size_t>(ic->out)] = true;
            for (const int pin : ic->gain_pins) ends[static_cast<std::size_t>(pin)] = true;
        }
    }
    // Windings lead from one to the other.
    std::vector<std::pair<int, int>> windings;
    for (const Element& element : circuit.elements) {
        const auto* coupling = std::get_if<Coupling>(&element.law);
        if (!coupling) continue;
        const auto winding = [&](int current) -> const Branch* {
            for (const Element& other : circuit.elements) {
                const auto* e = std::get_if<Branch>(&other.law);
                if (e && e->current == current) return e;
            }
            return nullptr;
        };
        const Branch* first = winding(coupling->current_a);
        const Branch* second = winding(coupling->current_b);
        if (!first || !second) continue;
        for (const int a : {first->a, first->b}) {
            for (const int b : {second->a, second->b}) ways.emplace_back(a, b);
        }
    }
    ends[0] = true;
    std::vector<bool> reached(circuit.nodes.size());
    reached[static_cast<std::size_t>(circuit.input_plus)] = true;
    reached[static_cast<std::size_t>(circuit.input_minus)] = true;
    for (bool more = true; more;) {
        more = false;
        for (const auto& [a, b] : ways) {
            const auto from = static_cast<std::size_t>(a);
            const auto to = static_cast<std::size_t>(b);
            if (reached[from] == reached[to]) continue;
            if (ends[reached[from] ? from : to]) continue;
            reached[from] = reached[to] = more = true;
        }
    }
    return reached;
}

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

double radio_db(Setting& setting, double frequency_hz, Drive drive) {
    Network& network = setting.driven(drive);
    const Solution solution = network.solve(frequency_hz);
    const double arrives_v = largest_input_v(network.circuit(), solution.x);
    return arrives_v > rounding ? ratio_db(1, arrives_v) : unset;
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

double loop_gain_db(Setting& setting, double frequency_hz) {
    Network& network = setting.network();
    network.solve(frequency_hz);
    double least = unset;
    for (const LoopSource& source : loop_sources(network.circuit())) {
        least = std::fmin(least, std::abs(return_ratio(network, source)));
    }
    return or_unset(db_from_ratio(least));
}

double common_mode_rejection_db(Setting& setting, double frequency_hz) {
    if (!is_balanced(setting)) return unset;
    const double signal = std::abs(setting.at(frequency_hz).gain);
    try {
        const double common = std::abs(setting.driven(Drive::common).respond(frequency_hz).gain);
        return common > rounding * signal ? ratio_db(signal, common) : unset;
    } catch (const Error&) {
        return unset;  // so little comes through that no digit of it can be trusted
    }
}

std::vector<std::string> supply_sources(Setting& setting) {
    std::vector<std::string> names;
    const Circuit& circuit = setting.network().circuit();
    for (const SupplySource& source : circuit.supplies) {
        names.push_back(circuit.parts[static_cast<std::size_t>(source.part)].name);
    }
    return names;
}

double supply_rejection_db(Setting& setting, double frequency_hz, const std::string& source) {
    const int equation = equation_of(setting.network().circuit(), source);
    if (equation < 0) return unset;
    return ratio_db(std::abs(setting.at(frequency_hz).gain),
                    gain_from(setting.network(), frequency_hz, equation));
}

double feed_rejection_db(Setting& setting, double frequency_hz) {
    Network* network = setting.mismatched_feed();
    if (!network) return unset;
    const int equation = equation_of(network->circuit(), std::string(feed_part));
    return ratio_db(1, gain_from(*network, frequency_hz, equation));
}

std::vector<RippleArrival> ripple_arrivals(Setting& setting, const Band& band) {
    std::vector<RippleArrival> arrivals;
    const double gain = std::abs(setting.at(reference_hz).gain);
    for (const Ripple& ripple : setting.board().ripples) {
        const int equation = equation_of(setting.network().circuit(), ripple.source);
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
    const int equation = equation_of(setting.network().circuit(), source);
    if (equation < 0) return unset;
    const double allowed_v2 = setting.noise(band).power_v2 / 10;
    const double gain_hz = noise_gain_hz(setting, band, equation);
    return or_unset(std::sqrt(allowed_v2 / gain_hz * (band.to_hz - band.from_hz)));
}

double radio_rejection_db(Setting& setting, double frequency_hz) {
    return radio_db(setting, frequency_hz, Drive::radio);
}

double radio_common_rejection_db(Setting& setting, double frequency_hz) {
    return radio_db(setting, frequency_hz, Drive::radio_common);
}

double loss_into_db(Setting& setting, double frequency_hz, double load_ohm, double cable_f) {
    const Output& own = setting.board().output;
    const double omega = 2 * std::numbers::pi * frequency_hz;
    const Complex loaded_ohm = setting.at(frequency_hz).output_impedance_ohm;
    const Complex own_siemens{1 / own.load_ohm, omega * own.cable_f};
    const Complex open_ohm = loaded_ohm / (1.0 - loaded_ohm * own_siemens);
    return ratio_db(std::abs(1.0 + open_ohm * Complex{1 / load_ohm, omega * cable_f}), 1);
}

double output_loss_db(Setting& setting, double frequency_hz) {
    const Output& own = setting.board().output;
    return loss_into_db(setting, frequency_hz, own.load_ohm, own.cable_f);
}

}  // namespace lowhiss
