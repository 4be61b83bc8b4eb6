#include "lowhiss/topology/components.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/connected_components.hpp>

#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

class TiedPairs {
  public:
    explicit TiedPairs(int emf_current) : emf_current_(emf_current) {}

    void operator()(const Branch& e) {
        if (is_short(e) && e.current != emf_current_) pairs.emplace_back(e.a, e.b);
    }
    void operator()(const RegulatorStage& e) {
        if (e.figures.output_resistance_ohm == 0) pairs.emplace_back(e.out, e.reference);
    }
    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Coupling, MeasuredBranch,
                    VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent,
                    CurrentSource, Amplifier, PreampStage, Junction, Transistor>
                  Law>
    void operator()(const Law&) {}

    std::vector<NodePair> pairs;

  private:
    int emf_current_;
};

class PassivePairs {
  public:
    explicit PassivePairs(const Circuit& circuit) : circuit_(circuit) {
        ways.held.resize(circuit.nodes.size());
        hold(0);
    }

    void operator()(const Conductance& e) { join(e.a, e.b); }
    void operator()(const Capacitance& e) { join(e.a, e.b); }
    void operator()(const SeriesCapacitor& e) { join(e.a, e.b); }
    void operator()(const Branch& e) { join(e.a, e.b); }
    void operator()(const MeasuredBranch& e) { join(e.a, e.b); }
    void operator()(const Junction& e) { join(e.a, e.b); }
    void operator()(const Transistor& e) {
        join(e.main, e.common);
        join(e.control, e.common);
    }

    void operator()(const Coupling& e) {
        const Branch* first = winding(e.current_a);
        const Branch* second = winding(e.current_b);
        if (!first || !second) return;
        for (const int a : {first->a, first->b}) {
            for (const int b : {second->a, second->b}) join(a, b);
        }
    }

    void operator()(const VoltageByVoltage& e) { hold_controlled(e.a, e.b); }
    void operator()(const VoltageByCurrent& e) { hold_controlled(e.a, e.b); }
    void operator()(const Amplifier& e) { hold(e.out); }
    void operator()(const PreampStage& e) {
        hold(e.out);
        for (const int pin : e.gain_pins) hold(pin);
    }
    void operator()(const RegulatorStage& e) { hold(e.out); }

    template <OneOf<CurrentByVoltage, CurrentByCurrent, CurrentSource> Law>
    void operator()(const Law&) {}

    PassiveWays ways;

  private:
    void join(int a, int b) { ways.pairs.emplace_back(a, b); }
    void hold(int node) { ways.held[static_cast<std::size_t>(node)] = true; }

    void hold_controlled(int a, int b) {
        if (a == 0) hold(b);
        if (b == 0) hold(a);
    }

    const Branch* winding(int current) const {
        for (const Element& element : circuit_.elements) {
            const auto* branch = std::get_if<Branch>(&element.law);
            if (branch && branch->current == current) return branch;
        }
        return nullptr;
    }

    const Circuit& circuit_;
};

class DirectPairs {
  public:
    void operator()(const Conductance& e) { join(e.a, e.b); }
    void operator()(const Branch& e) { join(e.a, e.b); }
    void operator()(const MeasuredBranch& e) { join(e.a, e.b); }
    void operator()(const VoltageByVoltage& e) { join(e.a, e.b); }
    void operator()(const VoltageByCurrent& e) { join(e.a, e.b); }
    void operator()(const Junction& e) { join(e.a, e.b); }
    void operator()(const Transistor& e) {
        join(e.main, e.common);
        join(e.control, e.common);
    }
    void operator()(const Amplifier& e) { join(e.out, 0); }
    void operator()(const PreampStage& e) {
        join(e.out, 0);
        for (const int pin : e.gain_pins) join(pin, 0);
    }
    void operator()(const RegulatorStage& e) {
        join(e.out, e.reference);
        join(e.in, e.reference);
    }
    template <OneOf<Capacitance, SeriesCapacitor, Coupling, CurrentByVoltage, CurrentByCurrent,
                    CurrentSource>
                  Law>
    void operator()(const Law&) {}

    std::vector<NodePair> pairs;

  private:
    void join(int a, int b) { pairs.emplace_back(a, b); }
};

template <class Visitor>
Visitor visit_elements(const Circuit& circuit, Visitor visitor) {
    for (const Element& element : circuit.elements) std::visit(visitor, element.law);
    return visitor;
}

}  // namespace

std::vector<int> components_of(std::size_t nodes, const std::vector<NodePair>& pairs) {
    using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS>;
    const Graph graph(pairs.begin(), pairs.end(), nodes);
    std::vector<int> component(nodes);
    boost::connected_components(graph, component.data());
    return component;
}

std::vector<NodePair> tied_pairs(const Circuit& circuit) {
    return visit_elements(circuit, TiedPairs(circuit.emf_current)).pairs;
}

PassiveWays passive_ways(const Circuit& circuit) {
    return visit_elements(circuit, PassivePairs(circuit)).ways;
}

std::vector<NodePair> direct_pairs(const Circuit& circuit) {
    return visit_elements(circuit, DirectPairs()).pairs;
}

}  // namespace lowhiss
