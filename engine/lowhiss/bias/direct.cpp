#include "lowhiss/bias/direct.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "lowhiss/bias/transistor.hpp"
#include "lowhiss/circuit/index.hpp"
#include "lowhiss/equations/stamp.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/topology/components.hpp"

namespace lowhiss {
namespace {

/// The conductance of an insulator, from each group of nodes without a path for direct current to
/// ground, whose voltages would otherwise be undetermined.
constexpr double insulator_siemens = 1e-12;

/// Stamps the equations of direct current, one overload per kind of element. Kinds that are the
/// same for direct current as for small signals are stamped by `stamp`.
class DirectStamper {
  public:
    DirectStamper(const Circuit& circuit, const std::vector<ElementBias>& bias,
                  const DirectEase& ease)
        : circuit_(circuit),
          bias_(bias),
          scale_(ease.source_scale),
          least_inverse_gain_(ease.least_inverse_gain),
          bridge_siemens_(ease.bridge_siemens),
          b_(circuit.unknowns.size()) {}

    DirectEquations equations() {
        for (std::size_t k = 0; k < circuit_.elements.size(); ++k) {
            at_ = &bias_[k];
            element_ = &circuit_.elements[k];
            std::visit(*this, element_->law);
        }
        tie_floating_nodes();
        for (Triplet& t : triplets_) t.c = 0;
        return {pencil_of(static_cast<int>(b_.size()), std::move(triplets_)), std::move(b_)};
    }

    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Coupling, VoltageByVoltage,
                    VoltageByCurrent, CurrentByVoltage, CurrentByCurrent>
                  Law>
    void operator()(const Law&) {
        as_for_small_signals();
    }

    void operator()(const Branch& e) {
        as_for_small_signals();
        b(e.current, scale_ * e.dc_v);
    }

    void operator()(const CurrentSource& e) {
        b(at_node(e.a), -scale_ * e.dc_a);
        b(at_node(e.b), scale_ * e.dc_a);
    }

    void operator()(const MeasuredBranch& e) {
        across(e.a, e.b, e.current);
        add(e.current, e.current, -e.points.front().resistance_ohm);
    }

    void operator()(const Amplifier& e) {
        const bool two_poles = e.x2 >= 0;
        add(e.x1, e.x1, std::max(e.inverse_gain, least_inverse_gain_));
        add(e.x1, at_node(e.plus), -1 - e.inverse_cmrr / 2);
        add(e.x1, at_node(e.minus), 1 - e.inverse_cmrr / 2);
        if (two_poles) {
            add(e.x2, e.x2, 1);
            add(e.x2, e.x1, -1);
        }
        add(at_node(e.out), e.current, -1);
        add(e.current, at_node(e.out), 1);
        output(e.supply, e.current, [&] {
            add(e.current, e.current, e.output_resistance_ohm);
            add(e.current, two_poles ? e.x2 : e.x1, -1);
        });
        inputs(e.supply, e.plus, e.minus);
    }

    void operator()(const PreampStage& e) {
        for (const std::size_t side : {0U, 1U}) {
            const int i = e.buffer_currents[side];
            const int o = e.integrators[side];
            const int pin = at_node(e.gain_pins[side]);
            add(i, at_node(e.inputs[side]), 1);
            add(i, pin, -1);
            add(i, i, -e.buffer_resistance_ohm);
            add(pin, i, -1);
            add(pin, pin, e.feedback_siemens);
            add(pin, o, -e.feedback_siemens);
            add(o, i, -1);
        }
        add(at_node(e.out), e.current, -1);
        add(e.current, at_node(e.out), 1);
        output(e.supply, e.current, [&] {
            add(e.current, e.current, e.output_resistance_ohm);
            add(e.current, at_node(e.reference), -1);
            add(e.current, e.integrators[0], -e.gain_offset);
            add(e.current, e.integrators[1], e.gain_offset);
            for (const int input : e.inputs) {
                add(e.current, at_node(input), -e.gain_offset * e.inverse_cmrr / 2);
            }
        });
        inputs(e.supply, e.inputs[0], e.inputs[1]);
    }

    void operator()(const Junction& e) {
        const double v = std::get<JunctionBias>(*at_).v;
        const double siemens = junction_siemens(e, v);
        add(at_node(e.a), e.current, 1);
        add(at_node(e.b), e.current, -1);
        add(e.current, e.current, 1);
        add(e.current, at_node(e.a), -siemens);
        add(e.current, at_node(e.b), siemens);
        b(e.current, junction_current_a(e, v) - siemens * v);
    }

    /// The tangent of its law about the bias, the currents of which leave at `common`.
    void operator()(const Transistor& e) {
        const double v = std::get<TransistorBias>(*at_).v;
        const double w = std::get<TransistorBias>(*at_).w;
        const TransistorCurrents i = currents_of(e, v, w);
        const auto current = [&](int node, double by_common, double by_main, double amperes) {
            for (const auto& [into, sign] : {std::pair(node, 1.0), std::pair(e.common, -1.0)}) {
                const int row = at_node(into);
                add(row, at_node(e.control), sign * (by_common + by_main));
                add(row, at_node(e.common), -sign * by_common);
                add(row, at_node(e.main), -sign * by_main);
                b(row, -sign * e.sign * (amperes - by_common * v - by_main * w));
            }
        };
        current(e.main, i.main_by_common, i.main_by_main, i.main_a);
        current(e.control, i.control_by_common, i.control_by_main, i.control_a);
        b(at_node(e.main), -e.sign * scale_ * e.leak_a);
        b(at_node(e.control), e.sign * scale_ * e.leak_a);
        if (bridge_siemens_ == 0) return;
        conductance(e.main, e.common, bridge_siemens_);
        conductance(e.control, e.common, bridge_siemens_);
        conductance(e.control, e.main, bridge_siemens_);
    }

    /// The power balance of a converter is linear by `draw`, which is taken from the last solution.
    void operator()(const RegulatorStage& e) {
        const auto& [state, draw, own] = std::get<RegulatorBias>(*at_);
        const bool converter = e.figures.kind == Regulator::Kind::converter;
        add(at_node(e.out), e.current, -1);
        add(at_node(e.reference), e.current, 1);
        if (state == State::held) {
            // It delivers no current. The leakage determines the voltage of the output if nothing
            // else does in this step of the search.
            add(e.current, e.current, 1);
            add(e.current, at_node(e.out), insulator_siemens);
            add(e.current, at_node(e.reference), -insulator_siemens);
        } else {
            add(e.current, at_node(e.out), 1);
            add(e.current, at_node(e.reference), -1);
            add(e.current, e.current, e.figures.output_resistance_ohm);
        }
        if (state == State::regulating) b(e.current, scale_ * e.figures.output_v);
        if (state == State::dropped_out) {
            add(e.current, at_node(e.in), -1);
            add(e.current, at_node(e.reference), 1);
            b(e.current, converter ? 0 : -e.figures.dropout_v);
        }
        const double in_per_out = converter && state == State::regulating ? draw : 1;
        add(at_node(e.in), e.current, in_per_out);
        add(at_node(e.reference), e.current, -in_per_out);
        own_current(own, e.in, e.reference, e.figures.quiescent_current_a, least_supply_v);
    }

  private:
    using Output = AmplifierBias::Output;
    using State = RegulatorBias::State;

    void as_for_small_signals() { stamp(*element_, triplets_); }

    void add(int row, int column, double g) {
        if (row >= 0 && column >= 0) triplets_.push_back({row, column, g, 0});
    }
    void b(int row, double value) {
        if (row >= 0) b_[static_cast<std::size_t>(row)] += value;
    }
    void across(int a, int b_node, int current) {
        add(at_node(a), current, 1);
        add(at_node(b_node), current, -1);
        add(current, at_node(a), 1);
        add(current, at_node(b_node), -1);
    }

    void inputs(const AmplifierSupply& e, int plus, int minus) {
        b(at_node(plus), -e.bias_a);
        b(at_node(minus), -e.bias_a);
    }

    /// The output's law: `linear` adds what it follows between the rails.
    template <class Linear>
    void output(const AmplifierSupply& e, int current, Linear linear) {
        if (!e.is_known()) return linear();
        const auto& bias = std::get<AmplifierBias>(*at_);
        switch (bias.output) {
            case Output::between_rails:
                linear();
                break;
            case Output::at_upper_rail:
                add(current, at_node(e.plus), -1);
                b(current, -e.from_plus_v);
                break;
            case Output::at_lower_rail:
                add(current, at_node(e.minus), -1);
                b(current, e.from_minus_v);
                break;
            case Output::starved: {
                const double least_v = e.from_plus_v + e.from_minus_v;
                const double share = least_v > 0 ? e.from_minus_v / least_v : 0.5;
                add(current, at_node(e.plus), -share);
                add(current, at_node(e.minus), share - 1);
                break;
            }
        }
        const bool by_plus = bias.carries_output == AmplifierBias::Rail::plus;
        add(at_node(by_plus ? e.plus : e.minus), current, 1);
        own_current(bias.draw, e.plus, e.minus, e.current_a, least_working_v(e));
    }

    void own_current(SupplyDraw draw, int plus, int minus, double amperes, double works_v) {
        if (draw == SupplyDraw::all) {
            b(at_node(plus), -scale_ * amperes);
            b(at_node(minus), scale_ * amperes);
        } else if (draw == SupplyDraw::part) {
            conductance(plus, minus, amperes / works_v);
        }
    }

    void conductance(int a, int b_node, double siemens) {
        add(at_node(a), at_node(a), siemens);
        add(at_node(b_node), at_node(b_node), siemens);
        add(at_node(a), at_node(b_node), -siemens);
        add(at_node(b_node), at_node(a), -siemens);
    }

    void tie_floating_nodes() {
        const std::vector<int> group = components_of(circuit_.nodes.size(), direct_pairs(circuit_));
        std::vector<bool> tied(circuit_.nodes.size());
        tied[0] = true;
        for (int node = 1; node < static_cast<int>(group.size()); ++node) {
            const auto own = static_cast<std::size_t>(group[static_cast<std::size_t>(node)]);
            if (!tied[own]) add(at_node(node), at_node(node), insulator_siemens);
            tied[own] = true;
        }
    }

    const Circuit& circuit_;
    const std::vector<ElementBias>& bias_;
    double scale_;
    double least_inverse_gain_;
    double bridge_siemens_;
    const ElementBias* at_ = nullptr;
    const Element* element_ = nullptr;
    std::vector<Triplet> triplets_;
    std::vector<double> b_;
};

}  // namespace

double direct_voltage(const std::vector<double>& x, int node) {
    return node > 0 ? x[static_cast<std::size_t>(node) - 1] : 0;
}

TransistorBias transistor_voltages(const Transistor& transistor, const std::vector<double>& x) {
    const double control_v = direct_voltage(x, transistor.control);
    return {transistor.sign * (control_v - direct_voltage(x, transistor.common)),
            transistor.sign * (control_v - direct_voltage(x, transistor.main))};
}

double least_working_v(const AmplifierSupply& supply) {
    return std::max(supply.min_v, least_supply_v);
}

OutputReach reach_of(const AmplifierSupply& supply, double plus_v, double minus_v) {
    return {minus_v + supply.from_minus_v, plus_v - supply.from_plus_v};
}

double junction_current_a(const Junction& junction, double volts) {
    double amperes = junction.saturation_a * std::expm1(volts / junction.slope_v);
    if (junction.breakdown_a > 0) {
        const auto breakdown = [&](double v) {
            return junction.breakdown_a *
                   std::exp(-(v + junction.breakdown_v) / junction.breakdown_slope_v);
        };
        amperes -= breakdown(volts) - breakdown(0);
    }
    return amperes;
}

double junction_siemens(const Junction& junction, double volts) {
    double siemens = junction.saturation_a / junction.slope_v * std::exp(volts / junction.slope_v);
    if (junction.breakdown_a > 0) {
        siemens += junction.breakdown_a / junction.breakdown_slope_v *
                   std::exp(-(volts + junction.breakdown_v) / junction.breakdown_slope_v);
    }
    return siemens;
}

DirectEquations direct_equations(const Circuit& circuit, const std::vector<ElementBias>& bias,
                                 const DirectEase& ease) {
    return DirectStamper(circuit, bias, ease).equations();
}

}  // namespace lowhiss
