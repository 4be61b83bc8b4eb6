#include "lowhiss/circuit/floating_windings.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <map>
#include <set>

#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// Joins all nodes that an element touches, one overload per kind. The current of an output returns
/// through ground; a transformer joins no node of one winding to one of the other.
class NodeJoiner {
  public:
    explicit NodeJoiner(std::size_t nodes) : sets(nodes) {}

    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, MeasuredBranch,
                    CurrentSource, CurrentByCurrent, VoltageByCurrent, Junction>
                  Law>
    void operator()(const Law& e) {
        join(e.a, e.b);
    }
    template <OneOf<VoltageByVoltage, CurrentByVoltage> Law>
    void operator()(const Law& e) {
        join(e.a, e.b);
        join(e.a, e.control_a);
        join(e.a, e.control_b);
    }
    void operator()(const Coupling&) {}
    void operator()(const Amplifier& e) {
        for (const int node : {e.plus, e.minus, e.out}) join(node, 0);
        supply(e.supply);
    }
    void operator()(const PreampStage& e) {
        for (const auto& pair : {e.inputs, e.gain_pins, {e.out, e.reference}}) {
            for (const int node : pair) join(node, 0);
        }
        supply(e.supply);
    }
    void operator()(const Transistor& e) {
        join(e.main, e.common);
        join(e.control, e.common);
    }
    void operator()(const RegulatorStage& e) {
        join(e.in, e.reference);
        join(e.out, e.reference);
    }

    void join(int a, int b) {
        sets.union_set(static_cast<std::size_t>(a), static_cast<std::size_t>(b));
    }
    std::size_t set_of(int node) { return sets.find_set(static_cast<std::size_t>(node)); }

    boost::disjoint_sets_with_storage<> sets;

  private:
    void supply(const AmplifierSupply& e) {
        if (!e.is_known()) return;
        join(e.plus, 0);
        join(e.minus, 0);
    }
};

struct Windings {
    const Branch* first;
    const Branch* second;
    int part;
};

std::vector<Windings> transformers_of(const Circuit& circuit) {
    std::map<int, const Branch*> by_current;
    for (const Element& element : circuit.elements) {
        if (const auto* branch = std::get_if<Branch>(&element.law)) {
            by_current[branch->current] = branch;
        }
    }
    std::vector<Windings> list;
    for (const Element& element : circuit.elements) {
        const auto* coupling = std::get_if<Coupling>(&element.law);
        if (!coupling) continue;
        list.push_back(
            {by_current.at(coupling->current_a), by_current.at(coupling->current_b), element.part});
    }
    return list;
}

}  // namespace

void hold_floating_windings(Circuit& circuit) {
    constexpr double siemens = 1;
    const bool none =
        std::none_of(circuit.elements.begin(), circuit.elements.end(),
                     [](const Element& e) { return std::holds_alternative<Coupling>(e.law); });
    if (none) return;
    NodeJoiner joiner(circuit.nodes.size());
    for (const Element& element : circuit.elements) std::visit(joiner, element.law);
    const std::vector<Windings> transformers = transformers_of(circuit);
    std::set<std::size_t> held{joiner.set_of(0)};
    std::vector<Element> ties;
    for (bool found = true; found;) {
        found = false;
        for (const auto& [first, second, part] : transformers) {
            const bool first_held = held.contains(joiner.set_of(first->a));
            if (first_held == held.contains(joiner.set_of(second->a))) continue;
            const Branch& floating = first_held ? *second : *first;
            held.insert(joiner.set_of(floating.a));
            ties.push_back({Conductance{floating.a, 0, siemens}, part});
            found = true;
        }
    }
    circuit.elements.insert(circuit.elements.end(), ties.begin(), ties.end());
}

}  // namespace lowhiss
