#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/circuit/builder.hpp"

namespace lowhiss {
namespace {

double time_of(double corner_hz) {
    return corner_hz == infinite ? 0 : 1 / (2 * std::numbers::pi * corner_hz);
}

double square(double x) {
    return x * x;
}

/// The exponential that has its data-sheet current at the breakdown voltage and none at 0 V:
/// -I (exp(-v / V) - 1) / (exp(Vb / V) - 1). Its differential resistance at I is
/// (1 - exp(-Vb / V)) V / I, which grows with V up to that of a plain resistor, Vb / I.
void break_down(const Diode& diode, Junction& junction) {
    constexpr double most_of_resistor = 0.99;
    const double voltage = diode.breakdown_v;
    const double drop_v =
        std::min(diode.breakdown_a * diode.breakdown_ohm, most_of_resistor * voltage);
    const auto conducted = [&](double slope_v) { return -std::expm1(-voltage / slope_v); };
    double low_v = drop_v;
    double high_v = 100 * voltage;
    for (int halving = 0; halving < 60 && conducted(drop_v) < 1; ++halving) {
        const double middle_v = (low_v + high_v) / 2;
        (middle_v * conducted(middle_v) < drop_v ? low_v : high_v) = middle_v;
    }
    junction.breakdown_v = voltage;
    junction.breakdown_slope_v = low_v;
    junction.breakdown_a = diode.breakdown_a / conducted(low_v);
}

/// Adds the elements and noise sources of one part, one overload per kind. The laws of the
/// macromodels are in circuit.hpp.
class PartAdder {
  public:
    PartAdder(const Part& part, const Models& models, double rotation, CircuitBuilder& builder)
        : part_(part), models_(models), rotation_(rotation), builder_(builder) {}

    void operator()(const Resistor& r) {
        builder_.resistor(pin(0), pin(1), r.resistance_ohm, true);
    }

    void operator()(const Capacitor& c) {
        if (pin(0) == pin(1)) return;
        const int charge =
            builder_.series_capacitor(pin(0), pin(1), c.capacitance_f, c.series_resistance_ohm);
        auto& law = std::get<SeriesCapacitor>(builder_.circuit().elements.back().law);
        law.bend_per_v = c.voltage_coefficient_per_v;
        law.bend_per_v2 = c.square_voltage_coefficient_per_v2;
        if (!c.bias_loss.empty()) law.bias_loss = std::make_shared<const BiasLoss>(c.bias_loss);
        builder_.noise_voltage(Mechanism::thermal, charge,
                               builder_.thermal_v2_hz(c.series_resistance_ohm), 0);
        builder_.resistor(pin(0), pin(1), c.leakage_resistance_ohm, true);
        builder_.circuit().capacitors.push_back({last_part(), charge, c.capacitance_f});
    }

    void operator()(const Inductor& l) {
        if (pin(0) == pin(1)) return;
        const int current = noisy_branch(pin(0), pin(1), l.series_resistance_ohm, l.inductance_h);
        builder_.circuit().inductances.push_back({last_part(), current, l.inductance_h});
        builder_.capacitance(pin(0), pin(1), l.parallel_capacitance_f);
    }

    void operator()(const Transformer& t) {
        const double secondary_h = square(t.ratio) * t.primary_inductance_h;
        const double leakage_h = (1 - t.coupling) * (1 + t.coupling) * secondary_h;
        const double turns = t.coupling * t.ratio;
        const int primary =
            builder_.branch(pin(0), pin(1), t.primary_resistance_ohm, t.primary_inductance_h);
        const int secondary = noisy_branch(pin(2), pin(3), t.secondary_resistance_ohm, leakage_h);
        std::get<Branch>(builder_.circuit().elements.back().law).coupled = true;
        builder_.noise_voltages(Mechanism::thermal, {primary, secondary}, {1, -turns},
                                builder_.thermal_v2_hz(t.primary_resistance_ohm));
        builder_.add(Coupling{pin(0), pin(1), primary, secondary, turns * t.primary_inductance_h,
                              turns, t.primary_resistance_ohm});
        builder_.circuit().inductances.push_back({last_part(), primary,
                                                  t.coupling * t.primary_inductance_h, secondary,
                                                  t.ratio, t.ratio * (1 - t.coupling)});
    }

    /// In series form, so that the structure stays the same if one side of the track is zero.
    void operator()(const Potentiometer& p) {
        const auto [to_ccw, to_cw] = track_ohm(p, rotation_);
        if (pin(0) != pin(1)) noisy_branch(pin(0), pin(1), to_ccw, 0);
        if (pin(1) != pin(2)) noisy_branch(pin(1), pin(2), to_cw, 0);
    }

    void operator()(const Link& link) {
        if (link.closed && pin(0) != pin(1)) builder_.branch(pin(0), pin(1), 0);
    }

    void operator()(const OpAmp& opamp) {
        const OpAmpModel& m = models_.opamps.find(opamp.model)->second;
        const int x1 = builder_.own_unknown(Unknown::inner_state);
        const bool two_poles = m.second_pole_hz != infinite;
        const int x2 = two_poles ? builder_.own_unknown(Unknown::second_pole) : -1;
        const int current = builder_.own_unknown(Unknown::output_current);
        builder_.add(Amplifier{pin(0), pin(1), pin(2), x1, x2, current, 1 / m.open_loop_gain,
                               time_of(m.gain_bandwidth_hz), time_of(m.second_pole_hz),
                               1 / m.common.cmrr, time_of(m.common.cmrr_corner_hz),
                               m.common.output_resistance_ohm, supply(m.common, 3)});
        add_input_impedances(m.common, pin(0), pin(1));
        builder_.noise_voltage(Mechanism::voltage_noise, x1, square(m.voltage_noise_v_rthz),
                               m.voltage_noise_corner_hz);
    }

    void operator()(const PreampIc& ic) {
        const PreampIcModel& m = models_.preamp_ics.find(ic.model)->second;
        const double feedback_ohm = m.gain_resistance_ohm / (2 * m.gain_offset);
        const PreampIcTimes times = times_of(m);
        const double integrator_f = times.a_s / feedback_ohm;
        PreampStage stage{};
        stage.inputs = {pin(0), pin(1)};
        stage.gain_pins = {pin(2), pin(3)};
        for (const std::size_t side : {0U, 1U}) {
            stage.buffer_currents[side] = builder_.own_unknown(Unknown::buffer_current);
            stage.integrators[side] = builder_.own_unknown(Unknown::inner_output);
        }
        stage.out = pin(4);
        stage.reference = pin(5);
        stage.current = builder_.own_unknown(Unknown::output_current);
        stage.buffer_resistance_ohm = integrator_f > 0 ? times.b_s / integrator_f : 0;
        stage.integrator_f = integrator_f;
        stage.feedback_siemens = 1 / feedback_ohm;
        stage.gain_offset = m.gain_offset;
        stage.inverse_cmrr = 1 / m.common.cmrr;
        stage.cmrr_time_s = time_of(m.common.cmrr_corner_hz);
        stage.output_resistance_ohm = m.common.output_resistance_ohm;
        stage.supply = supply(m.common, 6);
        builder_.add(stage);
        add_input_impedances(m.common, pin(0), pin(1));
        builder_.noise_voltage(Mechanism::voltage_noise, stage.buffer_currents[0],
                               square(m.input_voltage_noise_v_rthz),
                               m.input_voltage_noise_corner_hz);
        builder_.noise_voltage(Mechanism::output_voltage_noise, stage.current,
                               square(m.output_voltage_noise_v_rthz), 0);
    }

    void operator()(const ControlledSource& source) {
        const auto sensed_current = [&] { return builder_.branch(pin(0), pin(1), 0); };
        const auto output_current = [&] { return builder_.own_unknown(Unknown::output_current); };
        switch (source.kind) {
            case ControlledSource::Kind::voltage_gain:
                builder_.add(VoltageByVoltage{pin(2), pin(3), output_current(), pin(0), pin(1),
                                              source.gain});
                return;
            case ControlledSource::Kind::transconductance:
                builder_.add(CurrentByVoltage{pin(2), pin(3), pin(0), pin(1), source.gain});
                return;
            case ControlledSource::Kind::transresistance: {
                const int sensed = sensed_current();
                builder_.add(
                    VoltageByCurrent{pin(2), pin(3), output_current(), sensed, source.gain});
                return;
            }
            case ControlledSource::Kind::current_gain:
                builder_.add(CurrentByCurrent{pin(2), pin(3), sensed_current(), source.gain});
                return;
        }
    }

    void operator()(const IndependentSource& source) {
        if (source.kind == IndependentSource::Kind::voltage)
            builder_.supply_source(builder_.branch(pin(0), pin(1), 0, 0, source.dc));
        else
            builder_.add(CurrentSource{pin(0), pin(1), source.dc});
    }

    void operator()(const Diode& diode) {
        const double thermal_v = thermal_voltage();
        const bool in_series = diode.series_resistance_ohm > 0 || diode.noise_v_rthz > 0;
        const int anode = in_series ? builder_.inner_node("junction") : pin(0);
        if (in_series) {
            const int current = noisy_branch(pin(0), anode, diode.series_resistance_ohm, 0);
            builder_.noise_voltage(Mechanism::voltage_noise, current, square(diode.noise_v_rthz),
                                   0);
        }
        Junction junction{};
        junction.a = anode;
        junction.b = pin(1);
        junction.current = builder_.own_unknown(Unknown::current);
        // A forward voltage of more slopes is that of many junctions in series, whose slopes add
        // up. The saturation current of a single one would underflow.
        constexpr double most_slopes = 600;
        junction.slope_v = std::max(diode.ideality * thermal_v, diode.forward_v / most_slopes);
        junction.saturation_a = diode.forward_a / std::expm1(diode.forward_v / junction.slope_v);
        if (diode.breakdown_v < infinite) break_down(diode, junction);
        const int element = builder_.add(junction);
        builder_.capacitance(anode, pin(1), diode.capacitance_f);
        if (anode != pin(1)) builder_.shot_noise(anode, pin(1), element);
    }

    void operator()(const Bipolar& bipolar) {
        const BipolarModel& m = models_.bipolars.find(bipolar.model)->second;
        const int collector = behind(0, m.collector_ohm, "collector");
        const int base = behind(1, m.base_ohm, "base");
        const int emitter = behind(2, m.emitter_ohm, "emitter");
        const double thermal_v = thermal_voltage();
        BipolarLaw law{};
        law.saturation_a = m.at_a / std::expm1(m.base_emitter_v / thermal_v);
        law.thermal_v = thermal_v;
        law.current_gain = m.current_gain;
        law.reverse_current_gain = m.reverse_current_gain;
        law.early_v = m.early_v;
        const double stored_f = m.base_emitter_f + m.collector_base_f;
        law.transit_s =
            std::max(0.0, time_of(m.transition_hz) - stored_f * thermal_v / m.transition_a);
        Transistor transistor{collector, base, emitter, m.pnp ? -1.0 : 1.0, law};
        transistor.common_f = m.base_emitter_f;
        transistor.main_f = m.collector_base_f;
        const int element = builder_.add(transistor);
        builder_.transistor_noise(Mechanism::collector_shot, collector, emitter, element, 0);
        builder_.transistor_noise(Mechanism::base_shot, base, emitter, element,
                                  m.current_noise_corner_hz);
    }

    void operator()(const Jfet& jfet) {
        const JfetModel& m = models_.jfets.find(jfet.model)->second;
        constexpr double gate_conducts_v = 0.6;
        constexpr double gate_conducts_a = 1e-3;
        JfetLaw law{};
        law.factor_a_v2 = m.saturation_a / square(m.pinch_off_v);
        law.pinch_off_v = m.pinch_off_v;
        law.early_v = m.early_v;
        law.thermal_v = thermal_voltage();
        law.gate_saturation_a = gate_conducts_a / std::expm1(gate_conducts_v / law.thermal_v);
        Transistor transistor{pin(0), pin(1), pin(2), m.p_channel ? -1.0 : 1.0, law};
        transistor.leak_a = m.gate_a;
        transistor.common_f = m.gate_source_f;
        transistor.main_f = m.gate_drain_f;
        const int element = builder_.add(transistor);
        builder_.transistor_noise(Mechanism::channel, pin(0), pin(2), element,
                                  m.voltage_noise_corner_hz, square(m.voltage_noise_v_rthz));
        if (pin(0) != pin(1)) {
            builder_.noise_current(Mechanism::gate_shot, pin(0), pin(1),
                                   2 * elementary_charge_c * m.gate_a, 0);
        }
    }

    void operator()(const Regulator& regulator) {
        const int current = builder_.own_unknown(Unknown::output_current);
        builder_.add(RegulatorStage{pin(0), pin(1), pin(2), current, regulator});
        builder_.noise_voltage(Mechanism::voltage_noise, current, square(regulator.noise_v_rthz),
                               0);
        builder_.supply_source(current);
    }

    void operator()(const Battery& battery) {
        const BatteryModel& m = models_.batteries.find(battery.model)->second;
        const double cell_v = battery.spent < 0.5
                                  ? std::lerp(m.full_v, m.nominal_v, 2 * battery.spent)
                                  : std::lerp(m.nominal_v, m.empty_v, 2 * battery.spent - 1);
        const double internal_ohm = battery.cells * m.internal_resistance_ohm;
        const int current =
            builder_.branch(pin(0), pin(1), internal_ohm, 0, battery.cells * cell_v);
        builder_.noise_voltage(Mechanism::thermal, current, builder_.thermal_v2_hz(internal_ohm),
                               0);
        builder_.supply_source(current);
    }

  private:
    /// `first_pin` is the plus supply pin; supply pins are optional and come last.
    AmplifierSupply supply(const AmplifierFigures& m, std::size_t first_pin) {
        AmplifierSupply supply;
        supply.offset_v = m.offset_voltage_v;
        supply.bias_a = m.bias_current_a;
        supply.slew_v_s = m.slew_rate_v_s;
        if (part_.pins.size() <= first_pin) return supply;
        supply.plus = pin(first_pin);
        supply.minus = pin(first_pin + 1);
        supply.inverse_psrr = 1 / m.psrr;
        supply.psrr_time_s = time_of(m.psrr_corner_hz);
        supply.current_a = m.supply_current_a;
        supply.min_v = m.supply_min_v;
        supply.max_v = m.supply_max_v;
        supply.from_plus_v = m.swing_from_positive_rail_v;
        supply.from_minus_v = m.swing_from_negative_rail_v;
        return supply;
    }

    double thermal_voltage() {
        return boltzmann_j_k * builder_.circuit().temperature_k / elementary_charge_c;
    }

    /// The node behind a resistance at a pin; the pin's own node without one.
    int behind(std::size_t index, double ohm, const char* suffix) {
        if (ohm == 0) return pin(index);
        const int inner = builder_.inner_node(suffix);
        noisy_branch(pin(index), inner, ohm, 0);
        return inner;
    }

    int last_part() const { return static_cast<int>(builder_.circuit().parts.size()) - 1; }
    int pin(std::size_t index) { return builder_.node(part_.pins[index].node); }

    int noisy_branch(int a, int b, double resistance_ohm, double inductance_h) {
        const int current = builder_.branch(a, b, resistance_ohm, inductance_h);
        builder_.noise_voltage(Mechanism::thermal, current, builder_.thermal_v2_hz(resistance_ohm),
                               0);
        return current;
    }

    void add_input_impedances(const AmplifierFigures& m, int plus, int minus) {
        builder_.resistor(plus, minus, m.input_resistance_ohm, false);
        builder_.capacitance(plus, minus, m.input_capacitance_f);
        const double current_a2_hz = square(m.current_noise_a_rthz);
        for (const int input : {plus, minus}) {
            builder_.resistor(input, 0, m.common_mode_resistance_ohm, false);
            builder_.capacitance(input, 0, m.common_mode_capacitance_f);
        }
        builder_.noise_current(Mechanism::current_noise_plus, plus, 0, current_a2_hz,
                               m.current_noise_corner_hz);
        builder_.noise_current(Mechanism::current_noise_minus, minus, 0, current_a2_hz,
                               m.current_noise_corner_hz);
    }

    const Part& part_;
    const Models& models_;
    double rotation_;
    CircuitBuilder& builder_;
};

}  // namespace

void add_part(const Part& part, const Models& models, double rotation, CircuitBuilder& builder) {
    builder.begin_part(part.name, part.at);
    const auto* link = std::get_if<Link>(&part.data);
    if (link && !link->closed) return;                        // connects to no node
    for (const Pin& pin : part.pins) builder.node(pin.node);  // numbers them in pin order
    std::visit(PartAdder(part, models, rotation, builder), part.data);
}

}  // namespace lowhiss
