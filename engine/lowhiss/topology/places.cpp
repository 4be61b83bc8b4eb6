#include "lowhiss/topology/places.hpp"

#include <algorithm>
#include <utility>

#include "lowhiss/circuit/index.hpp"

namespace lowhiss {
namespace {

/// Lists the places of an element, one overload per kind.
class PlaceLister {
  public:
    void operator()(const Conductance& e) { admittance(e.a, e.b); }
    void operator()(const Capacitance& e) { admittance(e.a, e.b); }
    void operator()(const CurrentSource&) {}

    void operator()(const SeriesCapacitor& e) {
        across(e.a, e.b, e.charge);
        add(e.charge, e.charge);
    }

    void operator()(const Branch& e) {
        across(e.a, e.b, e.current);
        if (e.resistance_ohm != 0 || e.inductance_h != 0) add(e.current, e.current);
    }

    void operator()(const Coupling& e) {
        if (e.mutual_h == 0) return;
        add(e.current_a, e.current_b);
        difference(e.current_b, e.a, e.b);
        if (e.resistance_ohm != 0) add(e.current_b, e.current_a);
    }

    void operator()(const MeasuredBranch& e) {
        across(e.a, e.b, e.current);
        add(e.current, e.current);
    }

    void operator()(const VoltageByVoltage& e) {
        across(e.a, e.b, e.current);
        difference(e.current, e.control_a, e.control_b);
    }

    void operator()(const VoltageByCurrent& e) {
        across(e.a, e.b, e.current);
        add(e.current, e.control_current);
    }

    void operator()(const CurrentByVoltage& e) {
        if (e.a == e.b) return;
        difference(at_node(e.a), e.control_a, e.control_b);
        difference(at_node(e.b), e.control_a, e.control_b);
    }

    void operator()(const CurrentByCurrent& e) {
        if (e.a == e.b) return;
        add(at_node(e.a), e.control_current);
        add(at_node(e.b), e.control_current);
    }

    void operator()(const Amplifier& e) {
        add(e.x1, e.x1);
        inputs(e.x1, e.plus, e.minus, e.inverse_cmrr);
        difference(e.x1, e.plus, e.minus);
        supply(e.x1, e.supply);
        if (e.x2 >= 0) {
            add(e.x2, e.x2);
            add(e.x2, e.x1);
        }
        output(e.out, 0, e.current, e.output_resistance_ohm);
        add(e.current, e.x2 >= 0 ? e.x2 : e.x1);
    }

    void operator()(const PreampStage& e) {
        for (const std::size_t side : {0U, 1U}) {
            const int i = e.buffer_currents[side];
            const int o = e.integrators[side];
            const int pin = at_node(e.gain_pins[side]);
            difference(i, e.inputs[side], e.gain_pins[side]);
            if (e.buffer_resistance_ohm != 0) add(i, i);
            for (const int unknown : {i, pin, o}) add(pin, unknown);
            if (e.integrator_f != 0) add(o, o);
            add(o, i);
            add(e.current, o);
        }
        output(e.out, e.reference, e.current, e.output_resistance_ohm);
        inputs(e.current, e.inputs[0], e.inputs[1], e.inverse_cmrr);
        supply(e.buffer_currents[0], e.supply);
    }

    void operator()(const Junction& e) {
        add(e.current, e.current);
        if (e.a == e.b) return;
        add(at_node(e.a), e.current);
        add(at_node(e.b), e.current);
        difference(e.current, e.a, e.b);
    }

    void operator()(const Transistor& e) {
        admittance(e.main, e.common);
        admittance(e.control, e.common);
        admittance(e.control, e.main);
    }

    void operator()(const RegulatorStage& e) {
        output(e.out, e.reference, e.current, e.figures.output_resistance_ohm);
        if (e.follow != 0) difference(e.current, e.in, e.reference);
        add(at_node(e.in), e.current);
        add(at_node(e.reference), e.current);
    }

    /// (column, row), sorted, each once.
    std::vector<std::pair<int, int>> places() && {
        std::sort(places_.begin(), places_.end());
        places_.erase(std::unique(places_.begin(), places_.end()), places_.end());
        return std::move(places_);
    }

  private:
    void add(int row, int column) {
        if (row >= 0 && column >= 0) places_.emplace_back(column, row);
    }

    void difference(int row, int a, int b) {
        if (a == b) return;
        add(row, at_node(a));
        add(row, at_node(b));
    }

    void admittance(int a, int b) {
        difference(at_node(a), a, b);
        difference(at_node(b), a, b);
    }

    /// A current unknown between two nodes, and their voltage in its law.
    void across(int a, int b, int current) {
        difference(current, a, b);
        if (a == b) return;
        add(at_node(a), current);
        add(at_node(b), current);
    }

    void output(int out, int reference, int current, double resistance_ohm) {
        add(at_node(out), current);
        difference(current, out, reference);
        if (resistance_ohm != 0) add(current, current);
    }

    void supply(int row, const AmplifierSupply& e) {
        if (e.is_known() && e.inverse_psrr != 0) difference(row, e.plus, e.minus);
    }

    void inputs(int row, int plus, int minus, double inverse_cmrr) {
        if (inverse_cmrr == 0) return;
        add(row, at_node(plus));
        add(row, at_node(minus));
    }

    std::vector<std::pair<int, int>> places_;
};

}  // namespace

Pattern places_of(const Circuit& circuit) {
    PlaceLister lister;
    for (const Element& element : circuit.elements) std::visit(lister, element.law);
    const int size = static_cast<int>(circuit.unknowns.size());
    Pattern pattern{size, std::vector<int>(static_cast<std::size_t>(size) + 1), {}};
    for (const auto& [column, row] : std::move(lister).places()) {
        ++pattern.start[static_cast<std::size_t>(column) + 1];
        pattern.row.push_back(row);
    }
    for (std::size_t k = 1; k < pattern.start.size(); ++k) pattern.start[k] += pattern.start[k - 1];
    return pattern;
}

}  // namespace lowhiss
