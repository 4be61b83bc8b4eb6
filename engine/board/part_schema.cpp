#include <algorithm>
#include <array>

#include "lowhiss/board/schema.hpp"
#include "slot.hpp"

namespace lowhiss {
namespace {

using F = Field<PartData>;
constexpr bool required = true;
constexpr bool optional = false;

template <auto Member>
constexpr auto to = &slot_in<Member, PartData>;

template <class Kind>
constexpr F tolerance{"tolerance",
                      Unit::fraction,
                      Range::zero_to_one,
                      optional,
                      [](PartData& data) -> double& { return std::get<Kind>(data).tolerance.high; },
                      "spread about the value",
                      {[](PartData& data) -> double& { return std::get<Kind>(data).tolerance.low; },
                       Range::minus_one_to_zero, Range::zero_to_one, true}};

template <class Kind>
constexpr F temperature_coefficient{
    "temperature_coefficient",
    Unit::per_kelvin,
    Range::minus_one_to_one,
    optional,
    [](PartData& data) -> double& {
        return std::get<Kind>(data).temperature_coefficient.high_per_k;
    },
    "change of the value with each kelvin above the board's temperature",
    {[](PartData& data) -> double& {
         return std::get<Kind>(data).temperature_coefficient.low_per_k;
     },
     Range::minus_one_to_one, Range::minus_one_to_one, false}};

constexpr std::array resistor_fields{
    F{"resistor", Unit::ohm, Range::at_least_zero, required, to<&Resistor::resistance_ohm>,
      "resistance; exactly 0 is a short"},
    tolerance<Resistor>,
    temperature_coefficient<Resistor>,
};

constexpr std::array capacitor_fields{
    F{"capacitor", Unit::farad, Range::positive, required, to<&Capacitor::capacitance_f>,
      "capacitance"},
    F{"series_resistance", Unit::ohm, Range::at_least_zero, optional,
      to<&Capacitor::series_resistance_ohm>, "in series with the capacitance"},
    F{"leakage_resistance", Unit::ohm, Range::positive, optional,
      to<&Capacitor::leakage_resistance_ohm>, "across both"},
    F{"rating", Unit::volt, Range::positive, optional, to<&Capacitor::rating_v>,
      "direct voltage that it may stand"},
    tolerance<Capacitor>,
    temperature_coefficient<Capacitor>,
};

constexpr std::array inductor_fields{
    F{"inductor", Unit::henry, Range::positive, required, to<&Inductor::inductance_h>,
      "inductance"},
    F{"series_resistance", Unit::ohm, Range::at_least_zero, optional,
      to<&Inductor::series_resistance_ohm>, "of the wire"},
    F{"parallel_capacitance", Unit::farad, Range::at_least_zero, optional,
      to<&Inductor::parallel_capacitance_f>, "across both"},
    tolerance<Inductor>,
    temperature_coefficient<Inductor>,
};

constexpr std::array transformer_fields{
    F{"ratio", Unit::number, Range::positive, required, to<&Transformer::ratio>,
      "secondary turns over primary turns"},
    F{"primary_inductance", Unit::henry, Range::positive, required,
      to<&Transformer::primary_inductance_h>, "of the primary, secondary open"},
    F{"coupling", Unit::number, Range::zero_to_one, optional, to<&Transformer::coupling>,
      "1 is perfect"},
    F{"primary_resistance", Unit::ohm, Range::at_least_zero, optional,
      to<&Transformer::primary_resistance_ohm>, "of the primary's wire"},
    F{"secondary_resistance", Unit::ohm, Range::at_least_zero, optional,
      to<&Transformer::secondary_resistance_ohm>, "of the secondary's wire"},
};

constexpr std::array potentiometer_fields{
    F{"potentiometer", Unit::ohm, Range::positive, required, to<&Potentiometer::resistance_ohm>,
      "resistance of the whole track"},
    F{"midpoint", Unit::fraction, Range::inside_zero_to_one, optional, to<&Potentiometer::midpoint>,
      "fraction of the track at half rotation of a log taper"},
    F{"end_resistance", Unit::ohm, Range::at_least_zero, optional,
      to<&Potentiometer::end_resistance_ohm>, "left at each end of the track"},
    F{"position", Unit::fraction, Range::zero_to_one, optional, to<&Potentiometer::position>,
      "rotation of a trimmer that no knob turns"},
    tolerance<Potentiometer>,
    temperature_coefficient<Potentiometer>,
};

template <auto Gain>
constexpr std::array<F, 1> gain_field(std::string_view keyword, Unit unit, std::string_view about) {
    return {F{keyword, unit, Range::any, required, to<Gain>, about}};
}

constexpr auto voltage_gain_fields = gain_field<&ControlledSource::gain>(
    "voltage_gain", Unit::ratio, "output volts per volt between the control pins");
constexpr auto transconductance_fields = gain_field<&ControlledSource::gain>(
    "transconductance", Unit::siemens, "output amperes per volt between the control pins");
constexpr auto transresistance_fields = gain_field<&ControlledSource::gain>(
    "transresistance", Unit::ohm, "output volts per ampere through the control pins");
constexpr auto current_gain_fields = gain_field<&ControlledSource::gain>(
    "current_gain", Unit::ratio, "output amperes per ampere through the control pins");

constexpr std::array voltage_source_fields{
    F{"voltage_source", Unit::volt, Range::any, required, to<&IndependentSource::dc>,
      "direct voltage, first pin positive"},
    F{"ac", Unit::volt, Range::any, optional, to<&IndependentSource::ac>,
      "alternating voltage; zero in a sweep, where only the capsule drives"},
};

constexpr std::array current_source_fields{
    F{"current_source", Unit::ampere, Range::any, required, to<&IndependentSource::dc>,
      "direct current, from the first pin through the source to the second"},
    F{"ac", Unit::ampere, Range::any, optional, to<&IndependentSource::ac>,
      "alternating current; zero in a sweep, where only the capsule drives"},
};

constexpr F forward_current{
    "current",
    Unit::ampere,
    Range::positive,
    optional,
    to<&Diode::forward_a>,
    "at which the forward voltage is meant; 1 mA if left out, 5 mA of an LED"};
constexpr F ideality{"ideality", Unit::number,         Range::positive,
                     optional,   to<&Diode::ideality>, "of the junction, 1 to 2; 1.8 if left out"};
constexpr F diode_resistance{"series_resistance",
                             Unit::ohm,
                             Range::at_least_zero,
                             optional,
                             to<&Diode::series_resistance_ohm>,
                             "in series with the junction, not in its forward voltage"};
constexpr F diode_capacitance{
    "capacitance",        Unit::farad, Range::at_least_zero, optional, to<&Diode::capacitance_f>,
    "across the junction"};

constexpr std::array diode_fields{F{"diode", Unit::volt, Range::positive, required,
                                    to<&Diode::forward_v>, "forward voltage at `current`"},
                                  forward_current, ideality, diode_resistance, diode_capacitance};

constexpr std::array led_fields{F{"led", Unit::volt, Range::positive, required,
                                  to<&Diode::forward_v>, "forward voltage at `current`"},
                                forward_current, ideality, diode_resistance, diode_capacitance};

constexpr std::array zener_fields{
    F{"zener", Unit::volt, Range::positive, required, to<&Diode::breakdown_v>,
      "breakdown voltage at `current`"},
    F{"current", Unit::ampere, Range::positive, optional, to<&Diode::breakdown_a>,
      "at which the breakdown voltage is meant; 5 mA if left out"},
    F{"dynamic_resistance", Unit::ohm, Range::positive, optional, to<&Diode::breakdown_ohm>,
      "differential, at `current`; 10 ohm if left out"},
    F{"noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional, to<&Diode::noise_v_rthz>,
      "of the breakdown"},
    diode_capacitance};

constexpr F quiescent_current{"quiescent_current",
                              Unit::ampere,
                              Range::at_least_zero,
                              optional,
                              to<&Regulator::quiescent_current_a>,
                              "that it takes for itself"};
constexpr F regulator_resistance{"output_resistance",
                                 Unit::ohm,
                                 Range::at_least_zero,
                                 optional,
                                 to<&Regulator::output_resistance_ohm>,
                                 "noiseless"};
constexpr F regulator_noise{"noise",  Unit::volt_per_root_hertz,    Range::at_least_zero,
                            optional, to<&Regulator::noise_v_rthz>, "of the output"};

constexpr std::array regulator_fields{
    F{"regulator", Unit::volt, Range::positive, required, to<&Regulator::output_v>,
      "between output and reference"},
    F{"dropout", Unit::volt, Range::at_least_zero, optional, to<&Regulator::dropout_v>,
      "that the input has to be above the output"},
    quiescent_current,
    regulator_resistance,
    F{"ripple_rejection", Unit::ratio, Range::positive, optional, to<&Regulator::ripple_rejection>,
      "input ripple over output ripple, at low frequency"},
    F{"ripple_rejection_corner", Unit::hertz, Range::positive, optional,
      to<&Regulator::ripple_rejection_corner_hz>, "where it starts to fall"},
    regulator_noise};

constexpr std::array converter_fields{
    F{"converter", Unit::volt, Range::any, required, to<&Regulator::output_v>,
      "between output and reference; may be negative"},
    F{"input_min", Unit::volt, Range::at_least_zero, optional, to<&Regulator::input_min_v>,
      "below which it stops"},
    F{"efficiency", Unit::fraction, Range::above_zero_to_one, optional, to<&Regulator::efficiency>,
      "power out over power in, quiescent current aside; 85 % if left out"},
    quiescent_current,
    regulator_resistance,
    regulator_noise};

constexpr std::array battery_part_fields{
    F{"cells", Unit::number, Range::positive, optional, to<&Battery::cells>, "in series"},
};

constexpr std::array junction_pins{PinGroup{"anode", 1}, PinGroup{"cathode", 1}};
constexpr std::array regulator_pins{PinGroup{"input", 1}, PinGroup{"out", 1},
                                    PinGroup{"reference", 1, true}};
constexpr std::array two_pins{PinGroup{"pins", 2}};
constexpr std::array three_pins{PinGroup{"pins", 3}};
constexpr std::array winding_pins{PinGroup{"primary", 2}, PinGroup{"secondary", 2}};
constexpr std::array control_pins{PinGroup{"control", 2}, PinGroup{"pins", 2}};
constexpr PinGroup supply_pins{"supply", 2, false, true};
constexpr std::array opamp_pins{PinGroup{"plus", 1}, PinGroup{"minus", 1}, PinGroup{"out", 1},
                                supply_pins};
constexpr std::array preamp_ic_pins{
    PinGroup{"plus", 1}, PinGroup{"minus", 1},           PinGroup{"gain_pins", 2},
    PinGroup{"out", 1},  PinGroup{"reference", 1, true}, supply_pins};

Diode junction(Diode::Kind kind) {
    Diode diode;
    diode.kind = kind;
    if (kind == Diode::Kind::led) diode.forward_a = 5e-3;
    if (kind == Diode::Kind::zener) diode.forward_v = 0.7;
    return diode;
}
Regulator regulator(Regulator::Kind kind) {
    Regulator made;
    made.kind = kind;
    if (kind == Regulator::Kind::converter) made.efficiency = 0.85;
    return made;
}

ControlledSource controlled(ControlledSource::Kind kind) {
    return {kind, unset};
}
IndependentSource independent(IndependentSource::Kind kind) {
    return {kind, unset, 0};
}

}  // namespace

std::span<const PartSchema> part_schemas() {
    using C = ControlledSource::Kind;
    using I = IndependentSource::Kind;
    using D = Diode::Kind;
    using enum MainValue;
    static const std::array schemas{
        PartSchema{"resistor", "a resistor, noisy", figure, two_pins, resistor_fields, Resistor{}},
        PartSchema{"capacitor", "a capacitor; its resistances are noisy", figure, two_pins,
                   capacitor_fields, Capacitor{}},
        PartSchema{"inductor", "an inductor; its resistance is noisy", figure, two_pins,
                   inductor_fields, Inductor{}},
        PartSchema{"transformer", "two coupled windings, dots on the first pin of each", figures,
                   winding_pins, transformer_fields, Transformer{}},
        PartSchema{"potentiometer", "two noisy resistors; pins are ccw end, wiper, cw end", figure,
                   three_pins, potentiometer_fields, Potentiometer{}},
        PartSchema{"link",
                   R"(solder bridge, jumper or switch: "closed" or "open")",
                   state,
                   two_pins,
                   {},
                   Link{}},
        PartSchema{"opamp",
                   "an operational amplifier, by the name of its model",
                   model,
                   opamp_pins,
                   {},
                   OpAmp{}},
        PartSchema{"preamp_ic",
                   "a one-resistor-gain preamp IC, by the name of its model",
                   model,
                   preamp_ic_pins,
                   {},
                   PreampIc{}},
        PartSchema{"voltage_gain", "voltage-controlled voltage source", figure, control_pins,
                   voltage_gain_fields, controlled(C::voltage_gain)},
        PartSchema{"transconductance", "voltage-controlled current source", figure, control_pins,
                   transconductance_fields, controlled(C::transconductance)},
        PartSchema{"transresistance", "current-controlled voltage source", figure, control_pins,
                   transresistance_fields, controlled(C::transresistance)},
        PartSchema{"current_gain", "current-controlled current source", figure, control_pins,
                   current_gain_fields, controlled(C::current_gain)},
        PartSchema{"voltage_source", "independent voltage source", figure, two_pins,
                   voltage_source_fields, independent(I::voltage)},
        PartSchema{"current_source", "independent current source", figure, two_pins,
                   current_source_fields, independent(I::current)},
        PartSchema{"diode", "a junction diode", figure, junction_pins, diode_fields,
                   junction(D::diode)},
        PartSchema{"led", "a light-emitting diode", figure, junction_pins, led_fields,
                   junction(D::led)},
        PartSchema{"zener", "a Zener diode", figure, junction_pins, zener_fields,
                   junction(D::zener)},
        PartSchema{"regulator", "a linear regulator of a positive voltage", figure, regulator_pins,
                   regulator_fields, regulator(Regulator::Kind::linear)},
        PartSchema{"converter", "a switching converter, steps up or down", figure, regulator_pins,
                   converter_fields, regulator(Regulator::Kind::converter)},
        PartSchema{"battery", "a battery, by the name of its model; the first pin is positive",
                   model, two_pins, battery_part_fields, Battery{}},
    };
    return schemas;
}

const PartSchema& schema_of(const Part& part) {
    const auto same_kind = [&](const PartSchema& schema) {
        if (schema.blank.index() != part.data.index()) return false;
        if (const auto* source = std::get_if<ControlledSource>(&part.data)) {
            return std::get<ControlledSource>(schema.blank).kind == source->kind;
        }
        if (const auto* source = std::get_if<IndependentSource>(&part.data)) {
            return std::get<IndependentSource>(schema.blank).kind == source->kind;
        }
        if (const auto* diode = std::get_if<Diode>(&part.data)) {
            return std::get<Diode>(schema.blank).kind == diode->kind;
        }
        if (const auto* made = std::get_if<Regulator>(&part.data)) {
            return std::get<Regulator>(schema.blank).kind == made->kind;
        }
        return true;
    };
    const auto schemas = part_schemas();
    return *std::find_if(schemas.begin(), schemas.end(), same_kind);
}

std::string_view range_text(Range range) {
    switch (range) {
        case Range::any:
            return "any";
        case Range::positive:
            return "more than 0";
        case Range::at_least_zero:
            return "0 or more";
        case Range::zero_to_one:
            return "0 to 1";
        case Range::inside_zero_to_one:
            return "between 0 and 1";
        case Range::above_zero_to_one:
            return "more than 0, up to 1";
        case Range::minus_one_to_zero:
            return "-1 to 0";
        case Range::minus_one_to_one:
            return "-1 to 1";
    }
    return "";
}

bool in_range(double value, Range range) {
    switch (range) {
        case Range::any:
            return true;
        case Range::positive:
            return value > 0;
        case Range::at_least_zero:
            return value >= 0;
        case Range::zero_to_one:
            return value >= 0 && value <= 1;
        case Range::inside_zero_to_one:
            return value > 0 && value < 1;
        case Range::above_zero_to_one:
            return value > 0 && value <= 1;
        case Range::minus_one_to_zero:
            return value >= -1 && value <= 0;
        case Range::minus_one_to_one:
            return value >= -1 && value <= 1;
    }
    return false;
}

}  // namespace lowhiss
