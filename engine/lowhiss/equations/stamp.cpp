#include "lowhiss/equations/stamp.hpp"

#include <array>

#include "lowhiss/circuit/index.hpp"

namespace lowhiss {
namespace {

/// Stamps an element, one overload per kind; the laws are in circuit.hpp.
class Stamper {
  public:
    explicit Stamper(std::vector<Triplet>& triplets) : triplets_(triplets) {}

    void operator()(const Conductance& e) { admittance(e.a, e.b, e.siemens, 0); }
    void operator()(const Capacitance& e) { admittance(e.a, e.b, 0, e.farad); }
    void operator()(const CurrentSource&) {}

    void operator()(const SeriesCapacitor& e) {
        add(at_node(e.a), e.charge, 0, 1);
        add(at_node(e.b), e.charge, 0, -1);
        add(e.charge, at_node(e.a), 1, 0);
        add(e.charge, at_node(e.b), -1, 0);
        add(e.charge, e.charge, -1 / e.farad, -e.resistance_ohm);
    }

    void operator()(const Branch& e) {
        across(e.a, e.b, e.current);
        add(e.current, e.current, -e.resistance_ohm, -e.inductance_h);
    }

    void operator()(const Coupling& e) {
        add(e.current_a, e.current_b, 0, -e.mutual_h);
        add(e.current_b, at_node(e.a), -e.turns, 0);
        add(e.current_b, at_node(e.b), e.turns, 0);
        add(e.current_b, e.current_a, e.turns * e.resistance_ohm, 0);
    }

    void operator()(const MeasuredBranch& e) {
        across(e.a, e.b, e.current);
        triplets_.push_back({e.current, e.current, 0, 0, &e.points});
    }

    void operator()(const VoltageByVoltage& e) {
        across(e.a, e.b, e.current);
        add(e.current, at_node(e.control_a), -e.gain, 0);
        add(e.current, at_node(e.control_b), e.gain, 0);
    }

    void operator()(const VoltageByCurrent& e) {
        across(e.a, e.b, e.current);
        add(e.current, e.control_current, -e.ohm, 0);
    }

    void operator()(const CurrentByVoltage& e) {
        transfer({e.a, e.b}, {e.control_a, e.control_b}, e.siemens, 0);
    }

    void operator()(const CurrentByCurrent& e) {
        add(at_node(e.a), e.control_current, e.gain, 0);
        add(at_node(e.b), e.control_current, -e.gain, 0);
    }

    void operator()(const Amplifier& e) {
        add(e.x1, e.x1, e.inverse_gain, e.t1_s);
        add(e.x1, at_node(e.plus), -1, 0);
        add(e.x1, at_node(e.minus), 1, 0);
        common_mode(e.x1, e.plus, e.minus, -e.inverse_cmrr, e.cmrr_time_s);
        supply(e.x1, e.supply, -1);
        const bool two_poles = e.x2 >= 0;
        if (two_poles) {
            add(e.x2, e.x2, 1, e.t2_s);
            add(e.x2, e.x1, -1, 0);
        }
        output(e.out, 0, e.current, e.output_resistance_ohm);
        add(e.current, two_poles ? e.x2 : e.x1, -1, 0);
    }

    void operator()(const PreampStage& e) {
        for (const std::size_t side : {0U, 1U}) {
            const int i = e.buffer_currents[side];
            const int o = e.integrators[side];
            const int pin = at_node(e.gain_pins[side]);
            add(i, at_node(e.inputs[side]), 1, 0);
            add(i, pin, -1, 0);
            add(i, i, -e.buffer_resistance_ohm, 0);
            add(pin, i, -1, 0);
            add(pin, pin, e.feedback_siemens, 0);
            add(pin, o, -e.feedback_siemens, 0);
            add(o, o, 0, e.integrator_f);
            add(o, i, -1, 0);
            add(e.current, o, side == 0 ? -e.gain_offset : e.gain_offset, 0);
        }
        supply(e.buffer_currents[0], e.supply, 1);
        output(e.out, e.reference, e.current, e.output_resistance_ohm);
        common_mode(e.current, e.inputs[0], e.inputs[1], -e.gain_offset * e.inverse_cmrr,
                    e.cmrr_time_s);
    }

    void operator()(const Junction& e) {
        add(at_node(e.a), e.current, 1, 0);
        add(at_node(e.b), e.current, -1, 0);
        add(e.current, e.current, 1, 0);
        add(e.current, at_node(e.a), -e.siemens, 0);
        add(e.current, at_node(e.b), e.siemens, 0);
    }

    void operator()(const Transistor& e) {
        const std::array into_main{e.main, e.common};
        const std::array into_control{e.control, e.common};
        const std::array to_common{e.control, e.common};
        const std::array to_main{e.control, e.main};
        transfer(into_main, to_common, e.main_by_common, 0);
        transfer(into_main, to_main, e.main_by_main, 0);
        transfer(into_control, to_common, e.control_by_common, e.common_f);
        transfer(into_control, to_main, e.control_by_main, 0);
        admittance(e.control, e.main, 0, e.main_f);
    }

    void operator()(const RegulatorStage& e) {
        output(e.out, e.reference, e.current, e.figures.output_resistance_ohm);
        add(e.current, at_node(e.in), -e.follow, -e.follow * e.follow_time_s);
        add(e.current, at_node(e.reference), e.follow, e.follow * e.follow_time_s);
        add(at_node(e.reference), e.current, 1, 0);
        const auto drawn = [&](int node, double sign) {
            add(at_node(node), e.current, sign * e.draw, 0);
            add(at_node(node), at_node(e.in), sign * e.draw_siemens, 0);
            add(at_node(node), at_node(e.out), sign * e.draw_by_output_siemens, 0);
            add(at_node(node), at_node(e.reference),
                -sign * (e.draw_siemens + e.draw_by_output_siemens), 0);
        };
        drawn(e.in, 1);
        drawn(e.reference, -1);
    }

  private:
    /// A change of the supply acts as a voltage between the inputs.
    void supply(int row, const AmplifierSupply& e, double sign) {
        if (!e.is_known()) return;
        const double g = sign * e.inverse_psrr;
        add(row, at_node(e.plus), g, g * e.psrr_time_s);
        add(row, at_node(e.minus), -g, -g * e.psrr_time_s);
    }

    void add(int row, int column, double g, double c, int tie = 0) {
        if (row >= 0 && column >= 0) triplets_.push_back({row, column, g, c, nullptr, tie});
    }

    void admittance(int a, int b, double g, double c) { transfer({a, b}, {a, b}, g, c); }

    /// A current from one node of a pair to the other, in proportion to the voltage between another
    /// pair.
    void transfer(std::array<int, 2> to, std::array<int, 2> from, double g, double c) {
        const int tie = static_cast<int>(triplets_.size()) + 1;
        add(at_node(to[0]), at_node(from[0]), g, c, tie);
        add(at_node(to[1]), at_node(from[1]), g, c, tie);
        add(at_node(to[0]), at_node(from[1]), -g, -c, tie);
        add(at_node(to[1]), at_node(from[0]), -g, -c, tie);
    }

    /// A current unknown between two nodes, and their voltage in its law.
    void across(int a, int b, int current) {
        add(at_node(a), current, 1, 0);
        add(at_node(b), current, -1, 0);
        add(current, at_node(a), 1, 0);
        add(current, at_node(b), -1, 0);
    }

    /// An amplifier's output. Its current returns through the supply, which is ground for signals.
    void output(int out, int reference, int current, double resistance_ohm) {
        add(at_node(out), current, -1, 0);
        add(current, at_node(out), 1, 0);
        add(current, at_node(reference), -1, 0);
        add(current, current, resistance_ohm, 0);
    }

    /// weight (1 + s time) times the mean of the two inputs.
    void common_mode(int row, int plus, int minus, double weight, double time_s) {
        for (const int input : {plus, minus}) {
            add(row, at_node(input), weight / 2, weight * time_s / 2);
        }
    }

    std::vector<Triplet>& triplets_;
};

}  // namespace

std::vector<Triplet> stamps_of(const Circuit& circuit) {
    std::vector<Triplet> triplets;
    for (const Element& element : circuit.elements) stamp(element, triplets);
    return triplets;
}

void stamp(const Element& element, std::vector<Triplet>& triplets) {
    std::visit(Stamper(triplets), element.law);
}

}  // namespace lowhiss
