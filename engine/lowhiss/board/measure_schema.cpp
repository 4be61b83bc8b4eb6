#include "lowhiss/board/measure_schema.hpp"

#include <algorithm>
#include <array>

namespace lowhiss {
namespace {

using Measure = MeasureSchema;

constexpr Drift noise_drift{0.1, false};     // dB
constexpr Drift capsule_drift{0.02, false};  // dB
constexpr Drift one_percent{0.01, true};

constexpr Drift usual_drift(Unit unit) {
    if (unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl) return {0.05, false};
    if (unit == Unit::fraction) return {0.02, false};
    if (unit == Unit::degree) return {0.5, false};
    return one_percent;
}

constexpr Measure whole(std::string_view name, Unit unit, std::string_view about) {
    return {name, unit, false, false, false, false, usual_drift(unit), about};
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

constexpr Measure with_drift(Measure schema, Drift drift) {
    schema.drift = drift;
    return schema;
}

constexpr std::array schemas{
    at("gain", Unit::decibel, "output over electromotive force, at a frequency"),
    at("gain_from_terminals", Unit::decibel, "output over the voltage at the input terminals"),
    over_knob("gain_range", "most gain less least gain over the knob positions"),
    over_knob("gain_step", "largest change of gain between neighbouring knob positions"),
    at("attenuation", Unit::decibel, "gain at 1 kHz less gain at a frequency"),
    band("flatness", Unit::decibel, "most gain less least gain over a band"),
    whole("low_corner", Unit::hertz, "where gain is 3.0103 dB under that at 1 kHz, below it"),
    whole("high_corner", Unit::hertz, "where gain is 3.0103 dB under that at 1 kHz, above it"),
    at("phase", Unit::degree, "continued from 1 kHz, at a frequency"),
    band("phase_spread", Unit::degree, "largest less smallest phase over a band"),
    at("group_delay", Unit::second, "-d phase / d omega, at a frequency"),
    band("group_delay_spread", Unit::second, "largest less smallest over a band"),
    band("input_impedance", Unit::ohm, "smallest magnitude over a band, capsule aside"),
    band("output_impedance", Unit::ohm, "largest magnitude over a band, load and cable aside"),
    with_drift(
        at("capsule_effect", Unit::decibel, "gain with the capsule's impedance over gain without"),
        capsule_drift),
    with_drift(band("capsule_effect_spread", Unit::decibel, "largest less smallest over a band"),
               capsule_drift),
    noise("ein", Unit::dbu, "output noise of the band over gain at 1 kHz"),
    noise("ein_a", Unit::dbu, "the same, A-weighted"),
    noise("ein_468", Unit::dbu, "the same, BS.468-4 weighted, rms"),
    noise("noise_figure", Unit::decibel, "output noise power over the capsule resistance's part"),
    noise("output_noise", Unit::volt, "rms, over the band"),
    noise("capsule_noise_rise", Unit::decibel,
          "output noise with the capsule's impedance over that without"),
    with_part(noise("noise_share", Unit::fraction, "one part's share of the output noise power")),
    with_part(whole("bass_loss", Unit::decibel, "what one capacitor costs at 20 Hz")),
    at("max_input", Unit::dbu, "electromotive force at which the first amplifier gives in"),
    at("max_output", Unit::dbu, "output at which the first amplifier gives in"),
    at("max_spl", Unit::db_spl, "sound pressure level at which the first amplifier gives in"),
    at("output_level", Unit::dbu, "output at a sound pressure of 1 Pa"),
    noise("self_noise", Unit::db_spl, "A-weighted, as a sound pressure level"),
    noise("dynamic_range", Unit::decibel, "largest input at 1 kHz over A-weighted noise"),
    whole("phase_margin", Unit::degree, "least of all amplifiers' loops"),
    whole("gain_margin", Unit::decibel, "least of all amplifiers' loops"),
    at("loop_gain", Unit::decibel, "least of all amplifiers' loops, at a frequency"),
    whole("mode_q", Unit::number,
          "of the sharpest natural frequency above 20 kHz; negative where one grows"),
    at("common_mode_rejection", Unit::decibel,
       "gain over that of both input terminals driven alike"),
    with_part(at("supply_rejection", Unit::decibel,
                 "gain over that of a ripple in the voltage of a part")),
    at("feed_rejection", Unit::decibel,
       "phantom feed over output, its resistors as unequal as they may be"),
    band("ripple_output", Unit::dbu, "all [[ripple]] at the output, rms"),
    with_part(band("quiet_level", Unit::volt,
                   "hiss of a supply that comes out 10 dB under the board's own")),
    at("radio_rejection", Unit::decibel,
       "generator of 150 ohm over an amplifier's input pin, between the terminals"),
    at("radio_common_rejection", Unit::decibel, "the same, both terminals alike"),
    at("output_loss", Unit::decibel, "what load and cable take"),
    whole("supply_margin", Unit::volt, "of the amplifier with least room in its supply range"),
    whole("supply_current", Unit::ampere, "from feed and batteries, or from the sources"),
    whole("feed_margin", Unit::ampere, "the feed's limit less its current"),
    whole("battery_life", Unit::hour, "of the battery that is empty first"),
    whole("output_offset", Unit::volt, "direct voltage at the output, offsets at their worst"),
    whole("wiper_current", Unit::ampere, "direct current through a wiper, the largest"),
    whole("capacitor_stress", Unit::fraction, "direct voltage over rating, the largest"),
};

}  // namespace

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
           unit == Unit::degree || unit == Unit::fraction;
}

Unit allowance_unit(Unit unit) {
    if (unit == Unit::dbu || unit == Unit::db_spl) return Unit::decibel;
    return by_difference(unit) ? unit : Unit::fraction;
}

}  // namespace lowhiss
