#include "lowhiss/topology/joins.hpp"

#include <set>
#include <utility>

#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// Currents that the law of another element contains, as those through the control pins of
/// current-controlled sources.
class SensedCurrents {
  public:
    template <OneOf<VoltageByCurrent, CurrentByCurrent> Law>
    void operator()(const Law& e) {
        sensed.insert(e.control_current);
    }
    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
                    VoltageByVoltage, CurrentByVoltage, CurrentSource, Amplifier, PreampStage,
                    Junction, Transistor, RegulatorStage>
                  Law>
    void operator()(const Law&) {}

    std::set<int> sensed;
};

std::set<int> sensed_currents(const Circuit& circuit) {
    SensedCurrents visitor;
    for (const Element& element : circuit.elements) std::visit(visitor, element.law);
    return std::move(visitor.sensed);
}

/// A resistance of the capsule in parallel with a capacitance is its leakage.
std::set<std::pair<int, int>> capsule_capacitances(const Circuit& circuit) {
    std::set<std::pair<int, int>> between;
    for (const Element& element : circuit.elements) {
        if (element.part != capsule_index(circuit)) continue;
        if (const auto* c = std::get_if<Capacitance>(&element.law)) between.emplace(c->a, c->b);
        if (const auto* c = std::get_if<SeriesCapacitor>(&element.law)) between.emplace(c->a, c->b);
    }
    return between;
}

/// Puts each element into its lists, one overload per kind; the laws are in circuit.hpp.
class JoinLister {
  public:
    explicit JoinLister(const Netlist& netlist)
        : netlist_(netlist),
          sensed_currents_(sensed_currents(netlist.circuit)),
          capsule_capacitances_(capsule_capacitances(netlist.circuit)) {}

    Joins list() {
        for (const Element& element : netlist_.circuit.elements) {
            part_ = element.part;
            std::visit(*this, element.law);
            ++element_;
        }
        return std::move(joins_);
    }

    void operator()(const Conductance& e) {
        flows(e.a, e.b);
        if (conducts_direct_current(e)) add(joins_.direct, e.a, e.b);
    }

    void operator()(const Capacitance& e) { flows(e.a, e.b); }
    void operator()(const SeriesCapacitor& e) { flows(e.a, e.b); }

    void operator()(const Branch& e) {
        flows(e.a, e.b);
        add(joins_.direct, e.a, e.b);
        if (!is_short(e)) return;
        add(joins_.fixed, e.a, e.b);
        if (!sensed_currents_.contains(e.current)) add(joins_.unopposed, e.a, e.b);
    }

    void operator()(const Coupling&) {}

    void operator()(const MeasuredBranch& e) {
        flows(e.a, e.b);
        add(joins_.direct, e.a, e.b);
    }

    void operator()(const VoltageByVoltage& e) {
        controlled_voltage(e.a, e.b);
        add(joins_.sensed, e.control_a, e.control_b);
    }

    void operator()(const VoltageByCurrent& e) { controlled_voltage(e.a, e.b); }

    void operator()(const CurrentByVoltage& e) {
        add(joins_.current, e.a, e.b);
        add(joins_.direct, e.a, e.b);
        add(joins_.sensed, e.control_a, e.control_b);
    }

    void operator()(const CurrentByCurrent& e) {
        add(joins_.current, e.a, e.b);
        add(joins_.direct, e.a, e.b);
    }

    void operator()(const CurrentSource&) {}

    void operator()(const Amplifier& e) {
        flows(e.out, 0);
        add(joins_.direct, e.out, 0);
        if (e.output_resistance_ohm == 0) add(joins_.unopposed, e.out, 0);
        inputs(e.plus, e.minus, e.inverse_cmrr);
        supply(e.supply);
    }

    void operator()(const Junction& e) {
        flows(e.a, e.b);
        add(joins_.direct, e.a, e.b);
    }

    /// The control pin of a transistor needs a path for direct current of its own.
    void operator()(const Transistor& e) {
        flows(e.main, e.common);
        flows(e.control, e.common);
        add(joins_.direct, e.main, e.common);
    }

    void operator()(const RegulatorStage& e) {
        add(joins_.current, e.out, e.reference);
        add(joins_.current, e.in, e.reference);
        add(joins_.sensed, e.out, e.reference);
        if (e.follow != 0) add(joins_.sensed, e.in, e.reference);
        add(joins_.direct, e.out, e.reference);
        add(joins_.direct, e.in, e.reference);
        if (e.figures.output_resistance_ohm == 0) add(joins_.unopposed, e.out, e.reference);
    }

    void operator()(const PreampStage& e) {
        add(joins_.current, e.out, 0);
        add(joins_.sensed, e.out, e.reference);
        add(joins_.direct, e.out, 0);
        if (e.output_resistance_ohm == 0) add(joins_.unopposed, e.out, 0);
        for (const std::size_t side : {0U, 1U}) {
            add(joins_.current, e.gain_pins[side], 0);
            add(joins_.direct, e.gain_pins[side], 0);
            add(joins_.sensed, e.inputs[side], e.gain_pins[side]);
            if (e.buffer_resistance_ohm == 0) add(joins_.fixed, e.inputs[side], e.gain_pins[side]);
        }
        inputs(e.inputs[0], e.inputs[1], e.inverse_cmrr);
        supply(e.supply);
        // Without a bandwidth the inner outputs follow the gain pins, whatever their voltages are.
        if (e.integrator_f == 0)
            add(joins_.sensed, e.gain_pins[0], e.gain_pins[1]);
        else
            for (const int pin : e.gain_pins) add(joins_.sensed, pin, 0);
    }

  private:
    void add(std::vector<Join>& list, int a, int b) { list.push_back({element_, a, b}); }

    void flows(int a, int b) {
        add(joins_.current, a, b);
        add(joins_.sensed, a, b);
    }

    void controlled_voltage(int a, int b) {
        flows(a, b);
        add(joins_.direct, a, b);
        add(joins_.unopposed, a, b);
    }

    void supply(const AmplifierSupply& e) {
        if (e.is_known() && e.inverse_psrr != 0) add(joins_.sensed, e.plus, e.minus);
    }

    /// With a finite common-mode rejection the law contains the mean of the two as well.
    void inputs(int plus, int minus, double inverse_cmrr) {
        add(joins_.sensed, plus, minus);
        if (inverse_cmrr != 0) add(joins_.sensed, plus, 0);
    }

    bool conducts_direct_current(const Conductance& e) const {
        if (const Part* part = netlist_.part[static_cast<std::size_t>(part_)]) {
            return !std::holds_alternative<Capacitor>(part->data) &&
                   !std::holds_alternative<OpAmp>(part->data) &&
                   !std::holds_alternative<PreampIc>(part->data);
        }
        return part_ != capsule_index(netlist_.circuit) ||
               !capsule_capacitances_.contains({e.a, e.b});
    }

    const Netlist& netlist_;
    std::set<int> sensed_currents_;
    std::set<std::pair<int, int>> capsule_capacitances_;
    Joins joins_;
    int element_ = 0;
    int part_ = 0;
};

}  // namespace

Joins joins_of(const Netlist& netlist) {
    return JoinLister(netlist).list();
}

}  // namespace lowhiss
