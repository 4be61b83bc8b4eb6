#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/bias/direct.hpp"
#include "lowhiss/bias/transistor.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// The small-signal output resistance of a regulator whose output is held from elsewhere.
constexpr double held_output_ohm = 1e9;

/// Gives an element its small-signal law about a bias, one overload per kind.
class Lineariser {
  public:
    Lineariser(const ElementBias& bias, const std::vector<double>& x) : bias_(bias), x_(x) {}

    template <OneOf<Conductance, Capacitance, Branch, Coupling, MeasuredBranch, VoltageByVoltage,
                    VoltageByCurrent, CurrentByVoltage, CurrentByCurrent, CurrentSource, Amplifier,
                    PreampStage>
                  Law>
    void operator()(Law&) const {}

    /// The loss falls with the size of the voltage, so that its slope changes sign with it.
    void operator()(SeriesCapacitor& e) const {
        if (!e.bias_loss) return;
        const double v = direct_voltage(x_, e.a) - direct_voltage(x_, e.b);
        const LostCapacitance lost = lost_capacitance(*e.bias_loss, v);
        e.farad *= 1 - lost.fraction;
        e.bend_per_v -= lost.slope_per_v / (1 - lost.fraction);
    }

    void operator()(Junction& e) const {
        e.siemens = junction_siemens(e, std::get<JunctionBias>(bias_).v);
    }

    void operator()(Transistor& e) const {
        const auto& [v, w] = std::get<TransistorBias>(bias_);
        const TransistorCurrents i = currents_of(e, v, w);
        e.main_by_common = i.main_by_common;
        e.main_by_main = i.main_by_main;
        e.control_by_common = i.control_by_common;
        e.control_by_main = i.control_by_main;
        if (const auto* bipolar = std::get_if<BipolarLaw>(&e.law)) {
            e.common_f += bipolar->transit_s * std::max(0.0, i.main_by_common);
        }
    }

    void operator()(RegulatorStage& e) const {
        const auto& [state, draw, own] = std::get<RegulatorBias>(bias_);
        const Regulator& figures = e.figures;
        const bool regulates = state == RegulatorBias::State::regulating;
        if (state == RegulatorBias::State::held) {
            e.figures.output_resistance_ohm = held_output_ohm;
            e.draw = 0;
        }
        e.follow = regulates                                    ? 1 / figures.ripple_rejection
                   : state == RegulatorBias::State::dropped_out ? 1
                                                                : 0;
        const double corner_hz = figures.ripple_rejection_corner_hz;
        e.follow_time_s =
            regulates && corner_hz < infinite ? 1 / (2 * std::numbers::pi * corner_hz) : 0;
        if (figures.kind == Regulator::Kind::linear || !regulates) return;
        const double in_v = direct_voltage(x_, e.in) - direct_voltage(x_, e.reference);
        const double out_a = x_[static_cast<std::size_t>(e.current)];
        e.draw = draw;
        e.draw_siemens = -draw * out_a / in_v;
        e.draw_by_output_siemens = out_a / (figures.efficiency * in_v);
    }

  private:
    const ElementBias& bias_;
    const std::vector<double>& x_;
};

}  // namespace

Circuit linearised(Circuit circuit, const std::vector<ElementBias>& bias,
                   const std::vector<double>& x) {
    for (std::size_t k = 0; k < circuit.elements.size(); ++k) {
        std::visit(Lineariser(bias[k], x), circuit.elements[k].law);
    }
    for (CapacitorPort& port : circuit.capacitors) {
        for (const Element& element : circuit.elements) {
            const auto* law = std::get_if<SeriesCapacitor>(&element.law);
            if (law && law->charge == port.charge) port.farad = law->farad;
        }
    }
    for (NoiseSource& source : circuit.noise) {
        if (source.junction < 0) continue;
        const auto k = static_cast<std::size_t>(source.junction);
        if (const auto* transistor = std::get_if<Transistor>(&circuit.elements[k].law)) {
            const auto& [v, w] = std::get<TransistorBias>(bias[k]);
            const auto group = static_cast<std::size_t>(source.group);
            source.white =
                transistor_noise_a2_hz(*transistor, source, circuit.noise_groups[group].mechanism,
                                       v, w, circuit.temperature_k);
            continue;
        }
        const auto& junction = std::get<Junction>(circuit.elements[k].law);
        const double amperes = junction_current_a(junction, std::get<JunctionBias>(bias[k]).v);
        source.white = 2 * elementary_charge_c * std::abs(amperes);
    }
    return circuit;
}

}  // namespace lowhiss
