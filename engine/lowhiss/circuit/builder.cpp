#include "lowhiss/circuit/builder.hpp"

#include <fmt/format.h>

#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// Smaller resistances have their current as an unknown: as conductances they would swamp, in the
/// sum at a node, the conductances of resistances in gigaohms. At this limit 10 Gohm keeps nine
/// digits. It lies between the usual values of 910 ohm and 1 kilohm, so that a tolerance seldom
/// moves a part from one form to the other: only circuits of one structure share a plan.
constexpr double smallest_conductance_ohm = 955;

/// The number of an own unknown until the number of nodes is known: below -1, which means none.
constexpr int provisional(int index) {
    return -2 - index;
}

/// Gives own unknowns their final numbers, one overload per kind of element.
struct Renumber {
    int first_own;

    int operator()(int unknown) const {
        return unknown <= -2 ? first_own + (-2 - unknown) : unknown;
    }

    void operator()(Conductance&) const {}
    void operator()(Capacitance&) const {}
    void operator()(CurrentByVoltage&) const {}
    void operator()(CurrentSource&) const {}
    void operator()(Transistor&) const {}
    void operator()(SeriesCapacitor& e) const { e.charge = (*this)(e.charge); }
    void operator()(Branch& e) const { e.current = (*this)(e.current); }
    void operator()(Junction& e) const { e.current = (*this)(e.current); }
    void operator()(RegulatorStage& e) const { e.current = (*this)(e.current); }
    void operator()(MeasuredBranch& e) const { e.current = (*this)(e.current); }
    void operator()(VoltageByVoltage& e) const { e.current = (*this)(e.current); }
    void operator()(CurrentByCurrent& e) const { e.control_current = (*this)(e.control_current); }
    void operator()(Coupling& e) const {
        e.current_a = (*this)(e.current_a);
        e.current_b = (*this)(e.current_b);
    }
    void operator()(VoltageByCurrent& e) const {
        e.current = (*this)(e.current);
        e.control_current = (*this)(e.control_current);
    }
    void operator()(Amplifier& e) const {
        e.x1 = (*this)(e.x1);
        e.x2 = (*this)(e.x2);
        e.current = (*this)(e.current);
    }
    void operator()(PreampStage& e) const {
        for (int& unknown : e.buffer_currents) unknown = (*this)(unknown);
        for (int& unknown : e.integrators) unknown = (*this)(unknown);
        e.current = (*this)(e.current);
    }
};

struct SupplyOf {
    template <OneOf<Amplifier, PreampStage> Law>
    const AmplifierSupply* operator()(const Law& e) const {
        return &e.supply;
    }
    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
                    VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent,
                    CurrentSource, Junction, Transistor, RegulatorStage>
                  Law>
    const AmplifierSupply* operator()(const Law&) const {
        return nullptr;
    }
};

}  // namespace

std::string_view text_of(Mechanism mechanism) {
    switch (mechanism) {
        case Mechanism::thermal:
            return "thermal";
        case Mechanism::voltage_noise:
            return "voltage noise";
        case Mechanism::current_noise_plus:
            return "current noise, plus input";
        case Mechanism::current_noise_minus:
            return "current noise, minus input";
        case Mechanism::output_voltage_noise:
            return "output voltage noise";
        case Mechanism::self_noise:
            return "self noise";
        case Mechanism::shot:
            return "shot noise";
        case Mechanism::collector_shot:
            return "shot noise of the collector current";
        case Mechanism::base_shot:
            return "shot noise of the base current";
        case Mechanism::channel:
            return "channel noise";
        case Mechanism::gate_shot:
            return "shot noise of the gate current";
    }
    return "";
}

std::string text_of_unknown(const Circuit& circuit, int unknown) {
    const auto k = static_cast<std::size_t>(unknown);
    const auto of_part = [&](std::string_view what) {
        return fmt::format("{} {}", what,
                           circuit.parts[static_cast<std::size_t>(circuit.owners[k])].name);
    };
    switch (circuit.unknowns[k]) {
        case Unknown::node_voltage:
            return fmt::format("the voltage of node '{}'", circuit.nodes[k + 1]);
        case Unknown::current:
            return of_part("the current through");
        case Unknown::capsule_current:
            return "the current through the capsule";
        case Unknown::output_current:
            return of_part("the output current of");
        case Unknown::buffer_current:
            return of_part("a buffer's current in");
        case Unknown::charge:
            return of_part("the charge of");
        case Unknown::inner_state:
            return of_part("the inner state of");
        case Unknown::second_pole:
            return of_part("the second pole of");
        case Unknown::inner_output:
            return of_part("an inner output of");
    }
    return "";
}

const AmplifierSupply* supply_of(const Element& element) {
    return std::visit(SupplyOf{}, element.law);
}

CircuitBuilder::CircuitBuilder(const Board& board) : temperature_k_(board.temperature_k) {
    circuit_.temperature_k = board.temperature_k;
    circuit_.nodes.push_back(board.ground);
    node_index_[board.ground] = 0;
}

void CircuitBuilder::begin_part(const std::string& name, const Position& at) {
    circuit_.parts.push_back({name, at});
}

int CircuitBuilder::node(const std::string& name) {
    const auto [entry, is_new] = node_index_.emplace(name, static_cast<int>(circuit_.nodes.size()));
    if (is_new) {
        circuit_.nodes.push_back(name);
        node_owners_.push_back(-1);
    }
    return entry->second;
}

int CircuitBuilder::inner_node(const std::string& suffix) {
    circuit_.nodes.push_back(fmt::format("{} ({})", circuit_.parts.back().name, suffix));
    node_owners_.push_back(last_part());
    return static_cast<int>(circuit_.nodes.size()) - 1;
}

int CircuitBuilder::own_unknown(Unknown unknown) {
    own_unknowns_.push_back(unknown);
    own_unknown_owners_.push_back(last_part());
    return provisional(static_cast<int>(own_unknowns_.size()) - 1);
}

int CircuitBuilder::add(ElementLaw law) {
    circuit_.elements.push_back({std::move(law), last_part()});
    return static_cast<int>(circuit_.elements.size()) - 1;
}

int CircuitBuilder::branch(int a, int b, double resistance_ohm, double inductance_h, double dc_v) {
    const int current = own_unknown(Unknown::current);
    add(Branch{a, b, current, resistance_ohm, inductance_h, dc_v});
    return current;
}

void CircuitBuilder::resistor(int a, int b, double resistance_ohm, bool noisy) {
    if (a == b || resistance_ohm == infinite) return;
    if (resistance_ohm < smallest_conductance_ohm) {
        const int current = branch(a, b, resistance_ohm);
        const double density = noisy ? thermal_v2_hz(resistance_ohm) : 0;
        return noise_voltage(Mechanism::thermal, current, density, 0);
    }
    add(Conductance{a, b, 1 / resistance_ohm});
    if (noisy) noise_current(Mechanism::thermal, a, b, thermal_v2_hz(1 / resistance_ohm), 0);
}

void CircuitBuilder::capacitance(int a, int b, double farad) {
    if (a != b && farad > 0) add(Capacitance{a, b, farad});
}

int CircuitBuilder::series_capacitor(int a, int b, double farad, double resistance_ohm) {
    const int charge = own_unknown(Unknown::charge);
    add(SeriesCapacitor{a, b, charge, farad, resistance_ohm});
    return charge;
}

int CircuitBuilder::group(Mechanism mechanism) {
    const std::pair key{static_cast<int>(circuit_.parts.size()), mechanism};
    const auto [entry, is_new] =
        group_index_.emplace(key, static_cast<int>(circuit_.noise_groups.size()));
    if (is_new) circuit_.noise_groups.push_back({circuit_.parts.back().name, mechanism});
    return entry->second;
}

void CircuitBuilder::noise_current(Mechanism mechanism, int a, int b, double density,
                                   double corner_hz) {
    if (density == 0) return;
    circuit_.noise.push_back(
        {group(mechanism), {{{{a - 1, -1.0}, {b - 1, 1.0}}}}, density, corner_hz});
}

void CircuitBuilder::noise_voltage(Mechanism mechanism, int unknown, double density,
                                   double corner_hz) {
    if (density == 0) return;
    circuit_.noise.push_back(
        {group(mechanism), {{{{unknown, 1.0}, {-1, 0.0}}}}, density, corner_hz});
}

void CircuitBuilder::noise_voltages(Mechanism mechanism, std::array<int, 2> unknowns,
                                    std::array<double, 2> weights, double density) {
    if (density == 0) return;
    circuit_.noise.push_back(
        {group(mechanism), {{{{unknowns[0], weights[0]}, {unknowns[1], weights[1]}}}}, density, 0});
}

void CircuitBuilder::measured_noise(int unknown, int element) {
    circuit_.noise.push_back(
        {group(Mechanism::thermal), {{{{unknown, 1.0}, {-1, 0.0}}}}, 0, 0, element});
}

void CircuitBuilder::shot_noise(int a, int b, int element) {
    circuit_.noise.push_back(
        {group(Mechanism::shot), {{{{a - 1, -1.0}, {b - 1, 1.0}}}}, 0, 0, -1, element});
}

void CircuitBuilder::transistor_noise(Mechanism mechanism, int a, int b, int element,
                                      double corner_hz, double channel_v2_hz) {
    if (a == b) return;
    circuit_.noise.push_back({group(mechanism),
                              {{{{a - 1, -1.0}, {b - 1, 1.0}}}},
                              0,
                              corner_hz,
                              -1,
                              element,
                              channel_v2_hz});
}

void CircuitBuilder::supply_source(int equation) {
    circuit_.supplies.push_back({last_part(), equation});
}

Circuit CircuitBuilder::finish() {
    const Renumber renumber{static_cast<int>(circuit_.nodes.size()) - 1};
    for (Element& element : circuit_.elements) std::visit(renumber, element.law);
    for (NoiseSource& source : circuit_.noise) {
        for (auto& term : source.injection.terms) term.equation = renumber(term.equation);
    }
    for (CapacitorPort& port : circuit_.capacitors) port.charge = renumber(port.charge);
    for (InductancePort& port : circuit_.inductances) {
        port.current = renumber(port.current);
        port.secondary_current = renumber(port.secondary_current);
    }
    for (SupplySource& source : circuit_.supplies) source.equation = renumber(source.equation);
    circuit_.emf_current = renumber(circuit_.emf_current);
    circuit_.unknowns.assign(circuit_.nodes.size() - 1, Unknown::node_voltage);
    circuit_.unknowns.insert(circuit_.unknowns.end(), own_unknowns_.begin(), own_unknowns_.end());
    circuit_.owners.assign(node_owners_.begin() + 1, node_owners_.end());
    circuit_.owners.insert(circuit_.owners.end(), own_unknown_owners_.begin(),
                           own_unknown_owners_.end());
    return std::move(circuit_);
}

}  // namespace lowhiss
