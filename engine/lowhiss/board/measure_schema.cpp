#include "lowhiss/board/measure_schema.hpp"

#include <algorithm>
#include <array>
#include <iterator>

namespace lowhiss {
namespace {

using Measure = MeasureSchema;

constexpr Drift noise_drift{0.1, false};     // dB
constexpr Drift capsule_drift{0.02, false};  // dB
constexpr Drift one_percent{0.01, true};

constexpr Drift usual_drift(Unit unit) {
    if (unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl) return {0.05, false};
    if (unit == Unit::fraction) return {0.02, false};
    if (unit == Unit::degree || unit == Unit::polarity) return {0.5, false};
    return one_percent;
}

constexpr Measure whole(std::string_view name, Unit unit, std::string_view about) {
    return {name, unit, false, false, false, false, false, false, usual_drift(unit), about};
}

constexpr Measure at(std::string_view name, Unit unit, std::string_view about) {
    Measure schema = whole(name, unit, about);
    schema.takes_at = true;
    return schema;
}

constexpr Measure band(std::string_view name, Unit unit, std::string_view about) {
    Measure schema = whole(name, unit, about);
    schema.takes_band = true;
    return schema;
}

constexpr Measure noise(std::string_view name, Unit unit, std::string_view about) {
    Measure schema = band(name, unit, about);
    if (unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl) {
        schema.drift = noise_drift;
    }
    return schema;
}

constexpr Measure over_knob(std::string_view name, std::string_view about) {
    Measure schema = at(name, Unit::decibel, about);
    schema.over_knob = true;
    return schema;
}

constexpr Measure with_part(Measure schema) {
    schema.takes_part = true;
    return schema;
}

constexpr Measure with_source(Measure schema) {
    schema.takes_source = true;
    return schema;
}

constexpr Measure distortion(std::string_view name, std::string_view about) {
    Measure schema = at(name, Unit::fraction, about);
    schema.takes_level = true;
    schema.drift = {0.05, true};
    return schema;
}

constexpr Measure with_drift(Measure schema, Drift drift) {
    schema.drift = drift;
    return schema;
}

constexpr std::array schemas{
    at("gain", Unit::decibel, "output over source EMF, at a frequency"),
    at("gain_from_terminals", Unit::decibel,
       "output over the voltage between the input terminals, at a frequency"),
    over_knob("gain_range", "largest less smallest gain over the knob positions"),
    over_knob("gain_step", "largest change of gain between neighbouring knob positions"),
    at("attenuation", Unit::decibel, "gain at 1 kHz less gain at a frequency"),
    band("flatness", Unit::decibel, "largest less smallest gain over a band"),
    whole("low_corner", Unit::hertz,
          "frequency below 1 kHz at which the gain is 3.0103 dB less than at 1 kHz"),
    whole("high_corner", Unit::hertz,
          "frequency above 1 kHz at which the gain is 3.0103 dB less than at 1 kHz"),
    at("phase", Unit::degree, "phase of the gain at a frequency, continuous from 1 kHz"),
    band("phase_spread", Unit::degree, "largest less smallest phase over a band"),
    whole("polarity", Unit::polarity,
          "of the output at 1 kHz: 1 in phase with the capsule, -1 inverted, 0 neither"),
    at("group_delay", Unit::second, "-d phase / d omega, at a frequency"),
    band("group_delay_spread", Unit::second, "largest less smallest group delay over a band"),
    band("input_impedance", Unit::ohm, "smallest magnitude over a band, without the capsule"),
    band("output_impedance", Unit::ohm, "largest magnitude over a band, without load and cable"),
    with_drift(
        at("capsule_effect", Unit::decibel,
           "gain with the capsule's impedance over gain from an ideal source, at a frequency"),
        capsule_drift),
    with_drift(band("capsule_effect_spread", Unit::decibel,
                    "largest less smallest capsule effect over a band"),
               capsule_drift),
    noise("ein", Unit::dbu,
          "equivalent input noise: output noise over a band, divided by the gain at 1 kHz"),
    noise("ein_a", Unit::dbu, "equivalent input noise, A-weighted"),
    noise("ein_468", Unit::dbu, "equivalent input noise, ITU-R BS.468-4 weighted, rms"),
    noise("noise_figure", Unit::decibel,
          "output noise power over the part that the capsule's resistance causes"),
    noise("output_noise", Unit::volt, "rms output noise over a band"),
    noise("capsule_noise_rise", Unit::decibel,
          "output noise with the capsule's impedance over that with an ideal source"),
    with_source(noise("noise_figure_at", Unit::decibel,
                      "noise figure with a source of a resistance in place of the capsule")),
    noise("best_source_resistance", Unit::ohm,
          "resistance in place of the capsule for which the noise figure is least"),
    noise("least_noise_figure", Unit::decibel, "noise figure with that resistance"),
    at("input_voltage_noise", Unit::volt_per_root_hertz,
       "equivalent input noise voltage density of the board, en, at a frequency"),
    at("input_current_noise", Unit::ampere_per_root_hertz,
       "equivalent input noise current density of the board, in, at a frequency"),
    at("noise_correlation", Unit::number,
       "correlation of en and in as a resistive source meets it, at a frequency"),
    with_part(noise("noise_share", Unit::fraction, "share of one part in the output noise power")),
    with_part(whole("bass_loss", Unit::decibel,
                    "loss at 20 Hz by a capacitor, an inductor, a transformer or the capsule")),
    band("loading_loss", Unit::decibel,
         "largest loss of the capsule's voltage into the input impedance, over a band"),
    at("max_input", Unit::dbu, "source EMF at which the first amplifier clips or slews"),
    at("max_output", Unit::dbu, "output level at which the first amplifier clips or slews"),
    at("max_spl", Unit::db_spl, "sound pressure level at which the first amplifier clips or slews"),
    at("output_level", Unit::dbu, "output level at a sound pressure of 1 Pa"),
    distortion("second_harmonic",
               "second harmonic of a sine at the output, as a fraction of the fundamental"),
    distortion("third_harmonic",
               "third harmonic of a sine at the output, as a fraction of the fundamental"),
    distortion("distortion", "root of the sum of the squares of these two"),
    noise("self_noise", Unit::db_spl,
          "A-weighted equivalent input noise as a sound pressure level"),
    noise("dynamic_range", Unit::decibel,
          "largest input at 1 kHz over the A-weighted equivalent input noise"),
    whole("phase_margin", Unit::degree,
          "smallest phase margin of the loops about amplifiers and transistors"),
    whole("gain_margin", Unit::decibel,
          "smallest gain margin of the loops about amplifiers and transistors; below 0 dB of a "
          "stable board: "
          "conditionally stable"),
    at("loop_gain", Unit::decibel, "smallest loop gain of all amplifiers, at a frequency"),
    whole("mode_q", Unit::number,
          "Q of the sharpest natural frequency above 20 kHz; negative if it oscillates, -0.5 if it "
          "latches up"),
    at("common_mode_rejection", Unit::decibel, "CMRR: differential gain over common-mode gain"),
    with_part(at("supply_rejection", Unit::decibel,
                 "gain over the gain from a ripple on the voltage of a part")),
    at("feed_rejection", Unit::decibel,
       "phantom feed over output, with the largest mismatch of the feed's resistors"),
    band("ripple_output", Unit::dbu, "rms output of all [[ripple]] over a band"),
    with_part(band("quiet_level", Unit::volt,
                   "supply noise whose output is 10 dB below the board's own noise")),
    at("radio_rejection", Unit::decibel,
       "RF rejection: voltage of a 150 ohm generator at an open input over an amplifier's input "
       "voltage"),
    at("radio_common_rejection", Unit::decibel,
       "RF rejection with the generator on both terminals"),
    at("output_loss", Unit::decibel, "loss of gain into load and cable"),
    at("plus_pin_impedance", Unit::ohm,
       "magnitude from the plus output pin to ground, without load and cable"),
    at("minus_pin_impedance", Unit::ohm,
       "magnitude from the minus output pin to ground, without load and cable"),
    at("output_balance", Unit::decibel,
       "common-mode rejection of a receiver of 10 kohm and 11 kohm from its inputs to ground, the "
       "worse way round"),
    whole("settling_time", Unit::second,
          "from switching on until the output stays within 1 % of the thump"),
    whole("switch_on_thump", Unit::volt,
          "largest deviation of the output from rest after switching on, capacitors empty"),
    whole("supply_margin", Unit::volt,
          "smallest margin of an amplifier to an end of its supply range"),
    whole("supply_current", Unit::ampere, "current from feed and batteries, or from the sources"),
    whole("feed_margin", Unit::ampere, "current limit of the feed less the current drawn"),
    whole("battery_life", Unit::hour,
          "time until the first battery is empty, an amplifier starved or a regulator out"),
    whole("output_offset", Unit::volt, "direct voltage at the output, offsets at their worst"),
    whole("wiper_current", Unit::ampere, "largest direct current through a wiper"),
    whole("capacitor_stress", Unit::fraction, "largest direct voltage over rating of a capacitor"),
};

constexpr std::string_view no_rails =
    "the board has no amplifier, or one whose supply pins or swings are not known";
constexpr std::string_view no_sensitivity = "the capsule has no sensitivity";
constexpr std::string_view no_level =
    "the capsule has no sensitivity, or an amplifier's supply pins or swings are not known";
constexpr std::string_view no_distortion =
    "no part of the board has a distortion model, or, for a level in dB SPL, the capsule has no "
    "sensitivity";
constexpr std::string_view no_loop = "the board has no amplifier with a loop";
constexpr std::string_view no_crossover =
    "no loop gain about an amplifier or a transistor passes through 1";
constexpr std::string_view no_source = "the part is not fitted or is not a source";
constexpr std::string_view no_way = "no passive path leads from the input to an amplifier";
constexpr std::string_view no_feed = "the board has no [feed]";
constexpr std::string_view no_corner =
    "there is no gain at 1 kHz, or the measured capsule ends before the corner";

constexpr std::string_view no_source_solution =
    "the circuit has no solution or no gain with a resistance in place of the capsule";
constexpr std::string_view no_best_source =
    "the noise figure has no minimum from 0.1 ohm to 10 Gohm";

struct Absence {
    std::string_view measure;
    std::string_view condition;
};

constexpr auto absences = std::to_array<Absence>({
    {"low_corner", no_corner},
    {"high_corner", no_corner},
    {"noise_figure", "the source has no thermal noise"},
    {"noise_figure_at", no_source_solution},
    {"best_source_resistance", no_best_source},
    {"least_noise_figure", no_best_source},
    {"input_voltage_noise", no_source_solution},
    {"input_current_noise", no_source_solution},
    {"noise_correlation", "the board's noise at the input is voltage or current alone"},
    {"bass_loss", "the part is not fitted or is not a coupling capacitor"},
    {"max_input", no_rails},
    {"max_output", no_rails},
    {"max_spl", no_level},
    {"output_level", no_sensitivity},
    {"second_harmonic", no_distortion},
    {"third_harmonic", no_distortion},
    {"distortion", no_distortion},
    {"self_noise", no_sensitivity},
    {"dynamic_range", no_level},
    {"phase_margin", no_crossover},
    {"gain_margin", no_crossover},
    {"loop_gain", no_loop},
    {"mode_q", "no natural frequency above 20 kHz was found, or the circuit is too large"},
    {"common_mode_rejection", "an input terminal is ground, or no common mode arrives"},
    {"supply_rejection", no_source},
    {"feed_rejection", no_feed},
    {"ripple_output", "the board has no [[ripple]]"},
    {"quiet_level", no_source},
    {"radio_rejection", no_way},
    {"radio_common_rejection", no_way},
    {"supply_margin", "no amplifier has both supply pins and a supply range"},
    {"feed_margin", no_feed},
    {"battery_life", "the board has no battery that delivers current"},
    {"wiper_current", "the board has no potentiometer"},
    {"capacitor_stress", "no capacitor has a rating"},
});

}  // namespace

std::string_view unset_if(const MeasureSchema& schema) {
    const auto* const found =
        std::find_if(absences.begin(), absences.end(),
                     [&](const Absence& absence) { return absence.measure == schema.name; });
    return found == absences.end() ? std::string_view() : found->condition;
}

std::span<const MeasureSchema> measure_schemas() {
    return schemas;
}

const MeasureSchema* find_measure_schema(std::string_view name) {
    const auto* const found = std::find_if(
        schemas.begin(), schemas.end(), [&](const Measure& schema) { return schema.name == name; });
    return found == schemas.end() ? nullptr : found;
}

bool by_difference(Unit unit) {
    return unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl ||
           unit == Unit::degree || unit == Unit::fraction || unit == Unit::polarity;
}

Unit allowance_unit(Unit unit) {
    if (unit == Unit::dbu || unit == Unit::db_spl) return Unit::decibel;
    return by_difference(unit) ? unit : Unit::fraction;
}

}  // namespace lowhiss
