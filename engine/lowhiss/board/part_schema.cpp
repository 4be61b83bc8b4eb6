#include <algorithm>
#include <array>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/board/slot.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

using PartField = Field<PartData>;

template <auto Member>
constexpr auto to = &slot_in<Member, PartData>;

template <class Kind>
constexpr PartField tolerance{
    "tolerance",
    Unit::fraction,
    Range::zero_to_one,
    optional,
    [](PartData& data) -> double& { return std::get<Kind>(data).tolerance.high; },
    "largest deviation from the value, either way",
    {[](PartData& data) -> double& { return std::get<Kind>(data).tolerance.low; },
     Range::minus_one_to_zero, Range::zero_to_one, true}};

template <class Kind>
constexpr PartField temperature_coefficient{
    "temperature_coefficient",
    Unit::per_kelvin,
    Range::minus_one_to_one,
    optional,
    [](PartData& data) -> double& {
        return std::get<Kind>(data).temperature_coefficient.high_per_k;
    },
    "relative change for each kelvin above the board's temperature",
    {[](PartData& data) -> double& {
         return std::get<Kind>(data).temperature_coefficient.low_per_k;
     },
     Range::minus_one_to_one, Range::minus_one_to_one, false}};

constexpr std::array resistor_fields{
    PartField{"resistor", Unit::ohm, Range::at_least_zero, required, to<&Resistor::resistance_ohm>,
              "resistance; 0 is a short"},
    tolerance<Resistor>,
    temperature_coefficient<Resistor>,
};

constexpr std::array capacitor_fields{
    PartField{"capacitor", Unit::farad, Range::positive, required, to<&Capacitor::capacitance_f>,
              "capacitance"},
    PartField{"series_resistance", Unit::ohm, Range::at_least_zero, optional,
              to<&Capacitor::series_resistance_ohm>, "in series with the capacitance"},
    PartField{"leakage_resistance", Unit::ohm, Range::positive, optional,
              to<&Capacitor::leakage_resistance_ohm>, "across capacitance and series resistance"},
    PartField{"rating", Unit::volt, Range::positive, optional, to<&Capacitor::rating_v>,
              "rated direct voltage"},
    PartField{"voltage_coefficient", Unit::per_volt, Range::minus_one_to_one, optional,
              to<&Capacitor::voltage_coefficient_per_v>,
              "relative change of the capacitance with each volt of signal, first pin positive"},
    PartField{"square_voltage_coefficient", Unit::per_square_volt, Range::minus_one_to_one,
              optional, to<&Capacitor::square_voltage_coefficient_per_v2>,
              "the same with the square of the signal in volts"},
    tolerance<Capacitor>,
    temperature_coefficient<Capacitor>,
};

constexpr std::array inductor_fields{
    PartField{"inductor", Unit::henry, Range::positive, required, to<&Inductor::inductance_h>,
              "inductance"},
    PartField{"series_resistance", Unit::ohm, Range::at_least_zero, optional,
              to<&Inductor::series_resistance_ohm>, "of the winding"},
    PartField{"parallel_capacitance", Unit::farad, Range::at_least_zero, optional,
              to<&Inductor::parallel_capacitance_f>, "across inductance and series resistance"},
    tolerance<Inductor>,
    temperature_coefficient<Inductor>,
};

constexpr std::array transformer_fields{
    PartField{"ratio", Unit::number, Range::positive, required, to<&Transformer::ratio>,
              "secondary turns over primary turns"},
    PartField{"primary_inductance", Unit::henry, Range::positive, required,
              to<&Transformer::primary_inductance_h>, "of the primary with the secondary open"},
    PartField{"coupling", Unit::number, Range::zero_to_one, optional, to<&Transformer::coupling>,
              "coupling factor; 1 is perfect"},
    PartField{"primary_resistance", Unit::ohm, Range::at_least_zero, optional,
              to<&Transformer::primary_resistance_ohm>, "of the primary winding"},
    PartField{"secondary_resistance", Unit::ohm, Range::at_least_zero, optional,
              to<&Transformer::secondary_resistance_ohm>, "of the secondary winding"},
};

constexpr std::array potentiometer_fields{
    PartField{"potentiometer", Unit::ohm, Range::positive, required,
              to<&Potentiometer::resistance_ohm>, "resistance of the whole track"},
    PartField{"midpoint", Unit::fraction, Range::inside_zero_to_one, optional,
              to<&Potentiometer::midpoint>,
              "fraction of the track at half rotation, for a log taper"},
    PartField{"end_resistance", Unit::ohm, Range::at_least_zero, optional,
              to<&Potentiometer::end_resistance_ohm>,
              "residual resistance at each end of the track"},
    PartField{"position", Unit::fraction, Range::zero_to_one, optional,
              to<&Potentiometer::position>, "rotation of a trimmer that no knob turns"},
    tolerance<Potentiometer>,
    temperature_coefficient<Potentiometer>,
};

template <auto Gain>
constexpr std::array<PartField, 1> gain_field(std::string_view keyword, Unit unit,
                                              std::string_view about) {
    return {PartField{keyword, unit, Range::any, required, to<Gain>, about}};
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
    PartField{"voltage_source", Unit::volt, Range::any, required, to<&IndependentSource::dc>,
              "direct voltage, first pin positive"},
};

constexpr std::array current_source_fields{
    PartField{"current_source", Unit::ampere, Range::any, required, to<&IndependentSource::dc>,
              "direct current, which leaves the circuit at `from` and enters it at `into`"},
};

constexpr PartField forward_current{
    "current",
    Unit::ampere,
    Range::positive,
    optional,
    to<&Diode::forward_a>,
    "at which the forward voltage is specified; 1 mA if left out, 5 mA for an LED"};
constexpr PartField ideality{"ideality",           Unit::number,
                             Range::positive,      optional,
                             to<&Diode::ideality>, "ideality factor, 1 to 2; 1.8 if left out"};
constexpr PartField diode_resistance{
    "series_resistance",
    Unit::ohm,
    Range::at_least_zero,
    optional,
    to<&Diode::series_resistance_ohm>,
    "in series with the junction; not part of the forward voltage"};
constexpr PartField diode_capacitance{
    "capacitance",        Unit::farad, Range::at_least_zero, optional, to<&Diode::capacitance_f>,
    "across the junction"};

constexpr std::array diode_fields{PartField{"diode", Unit::volt, Range::positive, required,
                                            to<&Diode::forward_v>, "forward voltage at `current`"},
                                  forward_current, ideality, diode_resistance, diode_capacitance};

constexpr std::array led_fields{PartField{"led", Unit::volt, Range::positive, required,
                                          to<&Diode::forward_v>, "forward voltage at `current`"},
                                forward_current, ideality, diode_resistance, diode_capacitance};

constexpr std::array zener_fields{
    PartField{"zener", Unit::volt, Range::positive, required, to<&Diode::breakdown_v>,
              "breakdown voltage at `current`"},
    PartField{"current", Unit::ampere, Range::positive, optional, to<&Diode::breakdown_a>,
              "at which the breakdown voltage is specified; 5 mA if left out"},
    PartField{"dynamic_resistance", Unit::ohm, Range::positive, optional, to<&Diode::breakdown_ohm>,
              "differential resistance at `current`; 10 ohm if left out"},
    PartField{"noise", Unit::volt_per_root_hertz, Range::at_least_zero, optional,
              to<&Diode::noise_v_rthz>, "of the breakdown voltage"},
    diode_capacitance};

constexpr PartField quiescent_current{"quiescent_current",
                                      Unit::ampere,
                                      Range::at_least_zero,
                                      optional,
                                      to<&Regulator::quiescent_current_a>,
                                      "drawn by the regulator itself"};
constexpr PartField regulator_resistance{"output_resistance",
                                         Unit::ohm,
                                         Range::at_least_zero,
                                         optional,
                                         to<&Regulator::output_resistance_ohm>,
                                         "output resistance, noiseless"};
constexpr PartField regulator_noise{
    "noise",  Unit::volt_per_root_hertz,    Range::at_least_zero,
    optional, to<&Regulator::noise_v_rthz>, "voltage noise at the output"};

constexpr std::array regulator_fields{
    PartField{"regulator", Unit::volt, Range::positive, required, to<&Regulator::output_v>,
              "output voltage, from output to reference"},
    PartField{"dropout", Unit::volt, Range::at_least_zero, optional, to<&Regulator::dropout_v>,
              "smallest input voltage less output voltage"},
    quiescent_current,
    regulator_resistance,
    PartField{"ripple_rejection", Unit::ratio, Range::positive, optional,
              to<&Regulator::ripple_rejection>, "input ripple over output ripple at low frequency"},
    PartField{"ripple_rejection_corner", Unit::hertz, Range::positive, optional,
              to<&Regulator::ripple_rejection_corner_hz>, "frequency above which it falls"},
    regulator_noise};

constexpr std::array converter_fields{
    PartField{"converter", Unit::volt, Range::any, required, to<&Regulator::output_v>,
              "output voltage, from output to reference; may be negative"},
    PartField{"input_min", Unit::volt, Range::at_least_zero, optional, to<&Regulator::input_min_v>,
              "input voltage below which it stops"},
    PartField{"efficiency", Unit::fraction, Range::above_zero_to_one, optional,
              to<&Regulator::efficiency>,
              "output power over input power, without the quiescent current; 85 % if left out"},
    quiescent_current,
    regulator_resistance,
    regulator_noise};

constexpr std::array battery_part_fields{
    PartField{"cells", Unit::number, Range::positive, optional, to<&Battery::cells>,
              "number of cells in series"},
};

constexpr std::array junction_pins{PinGroup{"anode", 1}, PinGroup{"cathode", 1}};
constexpr std::array regulator_pins{PinGroup{"input", 1}, PinGroup{"out", 1},
                                    PinGroup{"reference", 1, true}};
constexpr std::array two_pins{PinGroup{"pins", 2}};
constexpr std::array current_source_pins{PinGroup{"from", 1}, PinGroup{"into", 1}};
constexpr std::array three_pins{PinGroup{"pins", 3}};
constexpr std::array winding_pins{PinGroup{"primary", 2}, PinGroup{"secondary", 2}};
constexpr std::array control_pins{PinGroup{"control", 2}, PinGroup{"pins", 2}};
constexpr PinGroup supply_pins{"supply", 2, false, true};
constexpr std::array opamp_pins{PinGroup{"plus", 1}, PinGroup{"minus", 1}, PinGroup{"out", 1},
                                supply_pins};
constexpr std::array bipolar_pins{PinGroup{"collector", 1}, PinGroup{"base", 1},
                                  PinGroup{"emitter", 1}};
constexpr std::array jfet_pins{PinGroup{"drain", 1}, PinGroup{"gate", 1}, PinGroup{"source", 1}};
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
    return {kind, unset};
}

/// Distinguishes kinds of parts that share a struct.
int variety_of(const PartData& data) {
    return std::visit(
        Overloads{
            [](const OneOf<ControlledSource, IndependentSource, Diode, Regulator> auto& made) {
                return static_cast<int>(made.kind);
            },
            [](const OneOf<Resistor, Capacitor, Inductor, Transformer, Potentiometer, Link, OpAmp,
                           PreampIc, Bipolar, Jfet, Battery> auto&) { return 0; }},
        data);
}

}  // namespace

std::span<const PartSchema> part_schemas() {
    using Controlled = ControlledSource::Kind;
    using I = IndependentSource::Kind;
    using D = Diode::Kind;
    using enum MainValue;
    static const std::array schemas{
        PartSchema{"resistor",
                   "a resistor with its thermal noise",
                   figure,
                   two_pins,
                   resistor_fields,
                   Resistor{},
                   {1e-3, 1e11}},
        PartSchema{"capacitor",
                   "a capacitor; its resistances have thermal noise",
                   figure,
                   two_pins,
                   capacitor_fields,
                   Capacitor{},
                   {1e-14, 0.05}},
        PartSchema{"inductor",
                   "an inductor; its resistance has thermal noise",
                   figure,
                   two_pins,
                   inductor_fields,
                   Inductor{},
                   {1e-9, 1e4}},
        PartSchema{"transformer", "two coupled windings with the dots on the first pin of each",
                   figures, winding_pins, transformer_fields, Transformer{}},
        PartSchema{"potentiometer",
                   "a potentiometer with its thermal noise; the pins are ccw end, wiper, cw end",
                   figure,
                   three_pins,
                   potentiometer_fields,
                   Potentiometer{},
                   {1, 1e8}},
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
                   "a preamp IC whose gain is set by one resistor, by the name of its model",
                   model,
                   preamp_ic_pins,
                   {},
                   PreampIc{}},
        PartSchema{"bipolar",
                   "a bipolar transistor, by the name of its model",
                   model,
                   bipolar_pins,
                   {},
                   Bipolar{}},
        PartSchema{"jfet",
                   "a junction field-effect transistor, by the name of its model",
                   model,
                   jfet_pins,
                   {},
                   Jfet{}},
        PartSchema{"voltage_gain", "voltage-controlled voltage source", figure, control_pins,
                   voltage_gain_fields, controlled(Controlled::voltage_gain)},
        PartSchema{"transconductance", "voltage-controlled current source", figure, control_pins,
                   transconductance_fields, controlled(Controlled::transconductance)},
        PartSchema{"transresistance", "current-controlled voltage source", figure, control_pins,
                   transresistance_fields, controlled(Controlled::transresistance)},
        PartSchema{"current_gain", "current-controlled current source", figure, control_pins,
                   current_gain_fields, controlled(Controlled::current_gain)},
        PartSchema{"voltage_source",
                   "independent voltage source",
                   figure,
                   two_pins,
                   voltage_source_fields,
                   independent(I::voltage),
                   {0, 1e3}},
        PartSchema{"current_source",
                   "independent current source",
                   figure,
                   current_source_pins,
                   current_source_fields,
                   independent(I::current),
                   {0, 100}},
        PartSchema{"diode",
                   "a junction diode",
                   figure,
                   junction_pins,
                   diode_fields,
                   junction(D::diode),
                   {0.05, 10}},
        PartSchema{"led",
                   "a light-emitting diode",
                   figure,
                   junction_pins,
                   led_fields,
                   junction(D::led),
                   {0.5, 200}},
        PartSchema{"zener",
                   "a Zener diode",
                   figure,
                   junction_pins,
                   zener_fields,
                   junction(D::zener),
                   {0.5, 400}},
        PartSchema{"regulator",
                   "a linear regulator for a positive voltage",
                   figure,
                   regulator_pins,
                   regulator_fields,
                   regulator(Regulator::Kind::linear),
                   {0.5, 1e3}},
        PartSchema{"converter",
                   "a switching converter, step-up or step-down",
                   figure,
                   regulator_pins,
                   converter_fields,
                   regulator(Regulator::Kind::converter),
                   {0.5, 1e3}},
        PartSchema{"battery", "a battery, by the name of its model; the first pin is positive",
                   model, two_pins, battery_part_fields, Battery{}},
    };
    return schemas;
}

const PartSchema& schema_of(const Part& part) {
    const auto all = part_schemas();
    return *std::find_if(all.begin(), all.end(), [&](const PartSchema& schema) {
        return schema.blank.index() == part.data.index() &&
               variety_of(schema.blank) == variety_of(part.data);
    });
}

void stray(Part& part, double deviation) {
    find_field(schema_of(part).fields, schema_of(part).keyword)->slot(part.data) *= 1 + deviation;
}

}  // namespace lowhiss
