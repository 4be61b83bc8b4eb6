#include "lowhiss/circuit/owners.hpp"

#include <algorithm>

namespace lowhiss {
namespace {

struct Terminals {
    using Nodes = std::vector<int>;

    Nodes operator()(const Conductance& e) const { return {e.a, e.b}; }
    Nodes operator()(const Capacitance& e) const { return {e.a, e.b}; }
    Nodes operator()(const SeriesCapacitor& e) const { return {e.a, e.b}; }
    Nodes operator()(const Branch& e) const { return {e.a, e.b}; }
    Nodes operator()(const Coupling&) const { return {}; }
    Nodes operator()(const MeasuredBranch& e) const { return {e.a, e.b}; }
    Nodes operator()(const VoltageByVoltage& e) const {
        return {e.a, e.b, e.control_a, e.control_b};
    }
    Nodes operator()(const VoltageByCurrent& e) const { return {e.a, e.b}; }
    Nodes operator()(const CurrentByVoltage& e) const {
        return {e.a, e.b, e.control_a, e.control_b};
    }
    Nodes operator()(const CurrentByCurrent& e) const { return {e.a, e.b}; }
    Nodes operator()(const CurrentSource& e) const { return {e.a, e.b}; }
    Nodes operator()(const Junction& e) const { return {e.a, e.b}; }
    Nodes operator()(const Transistor& e) const { return {e.main, e.control, e.common}; }
    Nodes operator()(const RegulatorStage& e) const { return {e.in, e.out, e.reference}; }
    Nodes operator()(const Amplifier& e) const {
        return with_supply({e.plus, e.minus, e.out}, e.supply);
    }
    Nodes operator()(const PreampStage& e) const {
        return with_supply(
            {e.inputs[0], e.inputs[1], e.gain_pins[0], e.gain_pins[1], e.out, e.reference},
            e.supply);
    }

  private:
    static Nodes with_supply(Nodes nodes, const AmplifierSupply& supply) {
        if (supply.is_known()) nodes.insert(nodes.end(), {supply.plus, supply.minus});
        return nodes;
    }
};

}  // namespace

std::vector<int> terminals_of(const ElementLaw& law) {
    return std::visit(Terminals{}, law);
}

std::vector<std::vector<int>> parts_by_unknown(const Circuit& circuit) {
    std::vector<std::vector<int>> parts(circuit.unknowns.size());
    for (std::size_t k = 0; k < parts.size(); ++k) {
        if (circuit.owners[k] >= 0) parts[k].push_back(circuit.owners[k]);
    }
    for (const Element& element : circuit.elements) {
        for (const int node : terminals_of(element.law)) {
            const auto unknown = static_cast<std::size_t>(node) - 1;
            if (node > 0 && circuit.owners[unknown] < 0) parts[unknown].push_back(element.part);
        }
    }
    for (std::vector<int>& list : parts) {
        std::sort(list.begin(), list.end());
        list.erase(std::unique(list.begin(), list.end()), list.end());
    }
    return parts;
}

int owner_of(const Circuit& circuit, int unknown) {
    const auto parts = parts_by_unknown(circuit);
    const std::vector<int>& list = parts[static_cast<std::size_t>(unknown)];
    return list.empty() ? -1 : list.front();
}

void point_at(const Circuit& circuit, int part, Diagnostic& diagnostic) {
    if (part < 0) {
        diagnostic.at = {circuit.parts.front().at.source, 0, 0};
        return;
    }
    const CircuitPart& named = circuit.parts[static_cast<std::size_t>(part)];
    diagnostic.at = named.at;
    diagnostic.subject = named.name;
}

}  // namespace lowhiss
