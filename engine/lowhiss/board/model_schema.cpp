#include <array>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/board/slot.hpp"

namespace lowhiss {
namespace {

template <auto Member>
double& in_capsule(Capsule& capsule) {
    return slot_in<Member>(capsule.impedance);
}

using C = Field<Capsule>;
constexpr C sensitivity{"sensitivity",
                        Unit::volt_per_pascal,
                        Range::positive,
                        optional,
                        &slot<&Capsule::sensitivity_v_pa>,
                        "unloaded output voltage per pascal"};

constexpr std::array resistive_fields{
    C{"resistance", Unit::ohm, Range::at_least_zero, required,
      &in_capsule<&ResistiveCapsule::resistance_ohm>, "source resistance"},
    sensitivity,
};
constexpr std::array dynamic_fields{
    C{"coil_resistance", Unit::ohm, Range::at_least_zero, required,
      &in_capsule<&DynamicCapsule::coil_resistance_ohm>, "of the coil at DC"},
    C{"coil_inductance", Unit::henry, Range::at_least_zero, optional,
      &in_capsule<&DynamicCapsule::coil_inductance_h>, "of the blocked coil"},
    sensitivity,
};
constexpr std::array condenser_fields{
    C{"capacitance", Unit::farad, Range::positive, required,
      &in_capsule<&CondenserCapsule::capacitance_f>, "capacitance of the capsule"},
    C{"leakage_resistance", Unit::ohm, Range::positive, optional,
      &in_capsule<&CondenserCapsule::leakage_resistance_ohm>, "across the capacitance"},
    sensitivity,
};
constexpr std::array electret_fields{
    C{"output_resistance", Unit::ohm, Range::at_least_zero, required,
      &in_capsule<&ElectretCapsule::output_resistance_ohm>, "of the internal buffer, noiseless"},
    C{"self_noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
      &in_capsule<&ElectretCapsule::self_noise_v_rthz>, "voltage noise at the buffer's output"},
    C{"self_noise_corner", Unit::hertz, Range::at_least_zero, optional,
      &in_capsule<&ElectretCapsule::self_noise_corner_hz>, "corner frequency of the 1/f noise"},
    C{"capacitance", Unit::farad, Range::positive, optional,
      &in_capsule<&ElectretCapsule::capacitance_f>,
      "for the record: it has no effect behind the buffer"},
    sensitivity,
};
constexpr std::array measured_fields{sensitivity};

using A = Field<AmplifierFigures>;
using M = AmplifierFigures;
constexpr std::array shared_fields{
    A{"current_noise", Unit::ampere_per_root_hertz, Range::at_least_zero, optional,
      &slot<&M::current_noise_a_rthz>, "current noise of each input"},
    A{"current_noise_corner", Unit::hertz, Range::at_least_zero, optional,
      &slot<&M::current_noise_corner_hz>, "corner frequency of the 1/f noise"},
    A{"input_resistance", Unit::ohm, Range::positive, optional, &slot<&M::input_resistance_ohm>,
      "between the inputs, noiseless"},
    A{"input_capacitance", Unit::farad, Range::at_least_zero, optional,
      &slot<&M::input_capacitance_f>, "between the inputs"},
    A{"common_mode_resistance", Unit::ohm, Range::positive, optional,
      &slot<&M::common_mode_resistance_ohm>, "from each input to ground, noiseless"},
    A{"common_mode_capacitance", Unit::farad, Range::at_least_zero, optional,
      &slot<&M::common_mode_capacitance_f>, "from each input to ground"},
    A{"output_resistance", Unit::ohm, Range::at_least_zero, optional,
      &slot<&M::output_resistance_ohm>,
      "noiseless; open loop for an op-amp, of the whole part for a preamp IC"},
    A{"cmrr", Unit::ratio, Range::positive, optional, &slot<&M::cmrr>,
      "common-mode rejection ratio at low frequency; for a preamp IC, at its lowest gain"},
    A{"cmrr_corner", Unit::hertz, Range::positive, optional, &slot<&M::cmrr_corner_hz>,
      "frequency above which it falls"},
    A{"psrr", Unit::ratio, Range::positive, optional, &slot<&M::psrr>,
      "power-supply rejection ratio at low frequency"},
    A{"psrr_corner", Unit::hertz, Range::positive, optional, &slot<&M::psrr_corner_hz>,
      "frequency above which it falls"},
    A{"slew_rate", Unit::volt_per_second, Range::positive, optional, &slot<&M::slew_rate_v_s>,
      "of the output"},
    A{"swing_from_positive_rail", Unit::volt, Range::at_least_zero, optional,
      &slot<&M::swing_from_positive_rail_v>,
      "smallest distance of the output from the positive rail"},
    A{"swing_from_negative_rail", Unit::volt, Range::at_least_zero, optional,
      &slot<&M::swing_from_negative_rail_v>,
      "smallest distance of the output from the negative rail"},
    A{"supply_min", Unit::volt, Range::at_least_zero, optional, &slot<&M::supply_min_v>,
      "smallest voltage between the supply pins"},
    A{"supply_max", Unit::volt, Range::positive, optional, &slot<&M::supply_max_v>,
      "largest voltage between the supply pins"},
    A{"supply_current", Unit::ampere, Range::at_least_zero, optional, &slot<&M::supply_current_a>,
      "quiescent current of one amplifier"},
    A{"offset_voltage", Unit::volt, Range::any, optional, &slot<&M::offset_voltage_v>,
      "input offset voltage"},
    A{"bias_current", Unit::ampere, Range::any, optional, &slot<&M::bias_current_a>,
      "input bias current, into each input"},
};

using O = Field<OpAmpModel>;
constexpr std::array opamp_own_fields{
    O{"open_loop_gain", Unit::ratio, Range::positive, required, &slot<&OpAmpModel::open_loop_gain>,
      "open-loop gain at low frequency"},
    O{"gain_bandwidth", Unit::hertz, Range::positive, required,
      &slot<&OpAmpModel::gain_bandwidth_hz>, "gain-bandwidth product"},
    O{"second_pole", Unit::hertz, Range::positive, optional, &slot<&OpAmpModel::second_pole_hz>,
      "second pole of the open-loop gain"},
    O{"voltage_noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
      &slot<&OpAmpModel::voltage_noise_v_rthz>, "in series with the plus input"},
    O{"voltage_noise_corner", Unit::hertz, Range::at_least_zero, optional,
      &slot<&OpAmpModel::voltage_noise_corner_hz>, "corner frequency of the 1/f noise"},
};

using P = Field<PreampIcModel>;
constexpr std::array preamp_ic_own_fields{
    P{"gain_resistance", Unit::ohm, Range::positive, required,
      &slot<&PreampIcModel::gain_resistance_ohm>, "k in gain = gain_offset + k/Rg"},
    P{"gain_offset", Unit::number, Range::positive, required, &slot<&PreampIcModel::gain_offset>,
      "gain with open gain pins"},
    P{"input_voltage_noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
      &slot<&PreampIcModel::input_voltage_noise_v_rthz>, "in series with the plus input"},
    P{"input_voltage_noise_corner", Unit::hertz, Range::at_least_zero, optional,
      &slot<&PreampIcModel::input_voltage_noise_corner_hz>, "corner frequency of the 1/f noise"},
    P{"output_voltage_noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
      &slot<&PreampIcModel::output_voltage_noise_v_rthz>,
      "noise of the output stage, at the output"},
};

using T = Field<BipolarModel>;
constexpr std::array own_bipolar_fields{
    T{"current_gain", Unit::number, Range::positive, required, &slot<&BipolarModel::current_gain>,
      "collector current over base current, also of small signals"},
    T{"base_emitter_voltage", Unit::volt, Range::positive, required,
      &slot<&BipolarModel::base_emitter_v>, "between base and emitter at `current`"},
    T{"current", Unit::ampere, Range::positive, optional, &slot<&BipolarModel::at_a>,
      "collector current of `base_emitter_voltage`; 1 mA if left out"},
    T{"early_voltage", Unit::volt, Range::positive, optional, &slot<&BipolarModel::early_v>,
      "output resistance times collector current"},
    T{"base_resistance", Unit::ohm, Range::at_least_zero, optional, &slot<&BipolarModel::base_ohm>,
      "in series with the base, noisy"},
    T{"emitter_resistance", Unit::ohm, Range::at_least_zero, optional,
      &slot<&BipolarModel::emitter_ohm>, "in series with the emitter, noisy"},
    T{"collector_resistance", Unit::ohm, Range::at_least_zero, optional,
      &slot<&BipolarModel::collector_ohm>, "in series with the collector, noisy"},
    T{"reverse_current_gain", Unit::number, Range::positive, optional,
      &slot<&BipolarModel::reverse_current_gain>,
      "with collector and emitter exchanged; 1 if left out"},
    T{"transition_frequency", Unit::hertz, Range::positive, optional,
      &slot<&BipolarModel::transition_hz>, "where the current gain is 1, at `transition_current`"},
    T{"transition_current", Unit::ampere, Range::positive, optional,
      &slot<&BipolarModel::transition_a>,
      "collector current of `transition_frequency`; 1 mA if left out"},
    T{"base_emitter_capacitance", Unit::farad, Range::at_least_zero, optional,
      &slot<&BipolarModel::base_emitter_f>, "without current"},
    T{"collector_base_capacitance", Unit::farad, Range::at_least_zero, optional,
      &slot<&BipolarModel::collector_base_f>, "at the usual voltage"},
    T{"current_noise_corner", Unit::hertz, Range::at_least_zero, optional,
      &slot<&BipolarModel::current_noise_corner_hz>,
      "corner frequency of the 1/f noise of the base current"},
};

using J = Field<JfetModel>;
constexpr std::array own_jfet_fields{
    J{"saturation_current", Unit::ampere, Range::positive, required,
      &slot<&JfetModel::saturation_a>, "drain current with gate and source joined"},
    J{"pinch_off_voltage", Unit::volt, Range::positive, required, &slot<&JfetModel::pinch_off_v>,
      "between gate and source without drain current, as a magnitude"},
    J{"early_voltage", Unit::volt, Range::positive, optional, &slot<&JfetModel::early_v>,
      "output resistance times drain current"},
    J{"gate_current", Unit::ampere, Range::at_least_zero, optional, &slot<&JfetModel::gate_a>,
      "leakage from drain to gate, which flows out of the gate of an n-channel part"},
    J{"gate_source_capacitance", Unit::farad, Range::at_least_zero, optional,
      &slot<&JfetModel::gate_source_f>, "between gate and source"},
    J{"gate_drain_capacitance", Unit::farad, Range::at_least_zero, optional,
      &slot<&JfetModel::gate_drain_f>, "between gate and drain"},
    J{"voltage_noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
      &slot<&JfetModel::voltage_noise_v_rthz>,
      "of the channel, at the gate; by the transconductance if left out"},
    J{"voltage_noise_corner", Unit::hertz, Range::at_least_zero, optional,
      &slot<&JfetModel::voltage_noise_corner_hz>, "corner frequency of the 1/f noise"},
};

constexpr std::array own_resonance_fields{
    Field<Resonance>{"frequency", Unit::hertz, Range::positive, required,
                     &slot<&Resonance::frequency_hz>, "frequency of the impedance peak"},
    Field<Resonance>{"q", Unit::number, Range::positive, required, &slot<&Resonance::q>,
                     "quality factor of the peak"},
    Field<Resonance>{"resistance", Unit::ohm, Range::positive, required,
                     &slot<&Resonance::resistance_ohm>, "added to the coil resistance at the peak"},
};

using B = Field<BatteryModel>;
constexpr std::array own_battery_fields{
    B{"full", Unit::volt, Range::positive, required, &slot<&BatteryModel::full_v>,
      "voltage when fresh or charged"},
    B{"nominal", Unit::volt, Range::positive, required, &slot<&BatteryModel::nominal_v>,
      "voltage for most of its life"},
    B{"empty", Unit::volt, Range::positive, required, &slot<&BatteryModel::empty_v>,
      "voltage at which it is replaced"},
    B{"capacity", Unit::ampere_hour, Range::positive, required, &slot<&BatteryModel::capacity_ah>,
      "charge from full to empty"},
    B{"internal_resistance", Unit::ohm, Range::at_least_zero, optional,
      &slot<&BatteryModel::internal_resistance_ohm>, "internal resistance"},
};

Capsule blank(decltype(Capsule::impedance) impedance) {
    return {"", std::move(impedance), unset, "", {}};
}

}  // namespace

std::span<const Field<AmplifierFigures>> amplifier_fields() {
    return shared_fields;
}
std::span<const Field<OpAmpModel>> opamp_fields() {
    return opamp_own_fields;
}
std::span<const Field<PreampIcModel>> preamp_ic_fields() {
    return preamp_ic_own_fields;
}
std::span<const Field<BipolarModel>> bipolar_fields() {
    return own_bipolar_fields;
}
std::span<const Field<JfetModel>> jfet_fields() {
    return own_jfet_fields;
}
std::span<const Field<Resonance>> resonance_fields() {
    return own_resonance_fields;
}

std::span<const Field<BatteryModel>> battery_fields() {
    return own_battery_fields;
}

std::span<const CapsuleSchema> capsule_schemas() {
    static const std::array schemas{
        CapsuleSchema{"resistive", "a resistance", resistive_fields, blank(ResistiveCapsule{})},
        CapsuleSchema{"dynamic",
                      "coil resistance and inductance, and `resonances` of the moving parts",
                      dynamic_fields, blank(DynamicCapsule{})},
        CapsuleSchema{"condenser", "a capacitance", condenser_fields, blank(CondenserCapsule{})},
        CapsuleSchema{"electret", "a capsule with a built-in buffer", electret_fields,
                      blank(ElectretCapsule{})},
        CapsuleSchema{
            "measured",
            "the impedance in `file`; with `extrapolate = true`, its end values hold outside it",
            measured_fields, blank(MeasuredCapsule{})},
    };
    return schemas;
}

}  // namespace lowhiss
