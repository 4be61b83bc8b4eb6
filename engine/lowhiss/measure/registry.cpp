#include "lowhiss/measure/registry.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/rejection.hpp"

namespace lowhiss {
namespace {

using Arguments = MeasureArguments;
using Settings = std::span<Setting* const>;

template <double (*Figure)(Setting&, double)>
MeasureValue at_frequency(Setting& setting, const Arguments& arguments) {
    return {Figure(setting, arguments.at_hz), arguments.at_hz};
}

template <double (*Figure)(Setting&, const Band&)>
MeasureValue in_band(Setting& setting, const Arguments& arguments) {
    return {Figure(setting, arguments.band), unset};
}

Extremes extremes(Setting& setting, double (*figure)(Setting&, double), const Band& band) {
    setting.prepare(scan_frequencies_hz(band, setting.resonances_hz()));
    return extremes_over_band([&](double f_hz) { return figure(setting, f_hz); }, band,
                              setting.resonances_hz());
}

template <double (*Figure)(Setting&, double)>
MeasureValue smallest_in_band(Setting& setting, const Arguments& arguments) {
    const Extreme least = extremes(setting, Figure, arguments.band).smallest;
    return {least.value, least.at_hz};
}

template <double (*Figure)(Setting&, double)>
MeasureValue largest_in_band(Setting& setting, const Arguments& arguments) {
    const Extreme most = extremes(setting, Figure, arguments.band).largest;
    return {most.value, most.at_hz};
}

/// Largest less smallest; found where the curve is farther from its value at 1 kHz.
template <double (*Figure)(Setting&, double)>
MeasureValue spread_in_band(Setting& setting, const Arguments& arguments) {
    const auto [least, most] = extremes(setting, Figure, arguments.band);
    const double middle = Figure(setting, reference_hz);
    const bool high = std::abs(most.value - middle) > std::abs(least.value - middle);
    return {most.value - least.value, high ? most.at_hz : least.at_hz};
}

MeasureValue capsule_effect_spread(Setting& setting, const Arguments& arguments) {
    const auto scan = scan_frequencies_hz(arguments.band, setting.resonances_hz());
    setting.prepare_ideal(scan);
    return spread_in_band<capsule_effect_db>(setting, arguments);
}

MeasureValue attenuation(Setting& setting, const Arguments& arguments) {
    return {gain_db(setting, reference_hz) - gain_db(setting, arguments.at_hz), arguments.at_hz};
}

MeasureValue low_corner(Setting& setting, const Arguments&) {
    return {setting.low_corner_hz()};
}
MeasureValue high_corner(Setting& setting, const Arguments&) {
    return {setting.high_corner_hz()};
}

MeasureValue part_share(Setting& setting, const Arguments& arguments) {
    return {noise_share(setting, arguments.band, arguments.part)};
}

MeasureValue part_loss(Setting& setting, const Arguments& arguments) {
    return {bass_loss_db(setting, arguments.part)};
}

template <double (*Figure)(const SupplyState&)>
MeasureValue nominal_supply(Setting& setting, const Arguments&) {
    return {Figure(setting.supply(SupplyEnd::nominal))};
}

/// The smallest, or with `Largest` the largest, over the ends of the supply.
template <double (*Figure)(const SupplyState&), bool Largest>
MeasureValue worst_supply(Setting& setting, const Arguments&) {
    double worst = unset;
    for (const SupplyEnd end : supply_ends) {
        const double value = Figure(setting.supply(end));
        worst = Largest ? std::fmax(worst, value) : std::fmin(worst, value);
    }
    return {worst};
}

MeasureValue phase_margin(Setting& setting, const Arguments&) {
    const LoopMargins* loop = setting.stability().worst_loop();
    return loop ? MeasureValue{loop->phase_margin_deg, loop->crossover_hz} : MeasureValue{};
}

MeasureValue gain_margin(Setting& setting, const Arguments&) {
    MeasureValue least;
    for (const LoopMargins& loop : setting.stability().loops) {
        if (std::isnan(loop.gain_margin_db) || loop.gain_margin_db >= least.value) continue;
        least = {loop.gain_margin_db, loop.phase_crossover_hz};
    }
    return least;
}

MeasureValue mode_q(Setting& setting, const Arguments&) {
    const NaturalMode* mode = setting.stability().sharpest();
    return mode ? MeasureValue{mode->q, mode->frequency_hz} : MeasureValue{};
}

MeasureValue loop_gain(Setting& setting, const Arguments& arguments) {
    return {loop_gain_db(setting, arguments.at_hz), arguments.at_hz};
}

MeasureValue supply_rejection(Setting& setting, const Arguments& arguments) {
    return {supply_rejection_db(setting, arguments.at_hz, arguments.part), arguments.at_hz};
}

MeasureValue quiet_level(Setting& setting, const Arguments& arguments) {
    return {quiet_level_v(setting, arguments.band, arguments.part)};
}

/// Of each setting; nothing where one of them has no gain.
std::vector<double> gains_db(Settings settings, double frequency_hz) {
    std::vector<double> gains;
    for (Setting* setting : settings) gains.push_back(gain_db(*setting, frequency_hz));
    const bool all =
        std::all_of(gains.begin(), gains.end(), [](double g) { return std::isfinite(g); });
    return all ? gains : std::vector<double>{};
}

MeasureValue gain_range(Settings settings, const Arguments& arguments) {
    const std::vector<double> gains = gains_db(settings, arguments.at_hz);
    const auto [least, most] = std::minmax_element(gains.begin(), gains.end());
    return {gains.empty() ? unset : *most - *least, arguments.at_hz};
}

MeasureValue largest_gain_step(Settings settings, const Arguments& arguments) {
    const std::vector<double> gains = gains_db(settings, arguments.at_hz);
    double most = gains.empty() ? unset : 0;
    for (std::size_t k = 1; k < gains.size(); ++k) {
        most = std::max(most, std::abs(gains[k] - gains[k - 1]));
    }
    return {most, arguments.at_hz};
}

using R = MeasureRecord;

constexpr Drift noise_drift{0.1, false};     // dB
constexpr Drift capsule_drift{0.02, false};  // dB
constexpr Drift share_drift{0.02, false};    // of the whole
constexpr Drift one_percent{0.01, true};

constexpr Drift usual_drift(Unit unit) {
    if (unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl) return {0.05, false};
    if (unit == Unit::fraction) return {0.02, false};
    if (unit == Unit::degree) return {0.5, false};
    return one_percent;
}

R at(std::string_view name, Unit unit, std::string_view about,
     MeasureValue (*find)(Setting&, const Arguments&)) {
    return {name, unit, true, false, false, false, about, usual_drift(unit), find, nullptr};
}

R band(std::string_view name, Unit unit, std::string_view about,
       MeasureValue (*find)(Setting&, const Arguments&)) {
    return {name, unit, false, true, false, false, about, usual_drift(unit), find, nullptr};
}

R noise(std::string_view name, Unit unit, std::string_view about,
        MeasureValue (*find)(Setting&, const Arguments&)) {
    const Drift drift = by_difference(unit) ? noise_drift : one_percent;
    return {name, unit, false, true, false, true, about, drift, find, nullptr};
}

R knob(std::string_view name, std::string_view about,
       MeasureValue (*find)(Settings, const Arguments&)) {
    return {name,    Unit::decibel, true, false, false, false, about, usual_drift(Unit::decibel),
            nullptr, find};
}

R whole(std::string_view name, Unit unit, std::string_view about,
        MeasureValue (*find)(Setting&, const Arguments&)) {
    return {name, unit, false, false, false, false, about, usual_drift(unit), find, nullptr};
}

R with_part(R record) {
    record.takes_part = true;
    return record;
}

R with_drift(R record, Drift drift) {
    record.drift = drift;
    return record;
}

}  // namespace

std::span<const MeasureRecord> measure_records() {
    static const std::array records{
        at("gain", Unit::decibel, "output over electromotive force, at a frequency",
           at_frequency<gain_db>),
        at("gain_from_terminals", Unit::decibel, "output over the voltage at the input terminals",
           at_frequency<gain_from_terminals_db>),
        knob("gain_range", "most gain less least gain over the knob positions", gain_range),
        knob("gain_step", "largest change of gain between neighbouring knob positions",
             largest_gain_step),
        at("attenuation", Unit::decibel, "gain at 1 kHz less gain at a frequency", attenuation),
        band("flatness", Unit::decibel, "most gain less least gain over a band",
             spread_in_band<gain_db>),
        whole("low_corner", Unit::hertz, "where gain is 3.0103 dB under that at 1 kHz, below it",
              low_corner),
        whole("high_corner", Unit::hertz, "where gain is 3.0103 dB under that at 1 kHz, above it",
              high_corner),
        at("phase", Unit::degree, "continued from 1 kHz, at a frequency", at_frequency<phase_deg>),
        band("phase_spread", Unit::degree, "largest less smallest phase over a band",
             spread_in_band<phase_deg>),
        at("group_delay", Unit::second, "-d phase / d omega, at a frequency",
           at_frequency<group_delay_s>),
        band("group_delay_spread", Unit::second, "largest less smallest over a band",
             spread_in_band<group_delay_s>),
        band("input_impedance", Unit::ohm, "smallest magnitude over a band, capsule aside",
             smallest_in_band<input_impedance_ohm>),
        band("output_impedance", Unit::ohm, "largest magnitude over a band, load and cable aside",
             largest_in_band<output_impedance_ohm>),
        with_drift(at("capsule_effect", Unit::decibel,
                      "gain with the capsule's impedance over gain without",
                      at_frequency<capsule_effect_db>),
                   capsule_drift),
        with_drift(band("capsule_effect_spread", Unit::decibel, "largest less smallest over a band",
                        capsule_effect_spread),
                   capsule_drift),
        noise("ein", Unit::dbu, "output noise of the band over gain at 1 kHz", in_band<ein_dbu>),
        noise("ein_a", Unit::dbu, "the same, A-weighted", in_band<ein_a_dbu>),
        noise("ein_468", Unit::dbu, "the same, BS.468-4 weighted, rms", in_band<ein_468_dbu>),
        noise("noise_figure", Unit::decibel,
              "output noise power over the capsule resistance's part", in_band<noise_figure_db>),
        noise("output_noise", Unit::volt, "rms, over the band", in_band<output_noise_v>),
        noise("capsule_noise_rise", Unit::decibel,
              "output noise with the capsule's impedance over that without",
              in_band<capsule_noise_rise_db>),
        R{"noise_share", Unit::fraction, false, true, true, true,
          "one part's share of the output noise power", share_drift, part_share, nullptr},
        R{"bass_loss", Unit::decibel, false, false, true, false,
          "what one capacitor costs at 20 Hz", usual_drift(Unit::decibel), part_loss, nullptr},
        at("max_input", Unit::dbu, "electromotive force at which the first amplifier gives in",
           at_frequency<max_input_dbu>),
        at("max_output", Unit::dbu, "output at which the first amplifier gives in",
           at_frequency<max_output_dbu>),
        at("max_spl", Unit::db_spl, "sound pressure level at which the first amplifier gives in",
           at_frequency<max_spl_db>),
        at("output_level", Unit::dbu, "output at a sound pressure of 1 Pa",
           at_frequency<output_level_dbu>),
        noise("self_noise", Unit::db_spl, "A-weighted, as a sound pressure level",
              in_band<self_noise_db_spl>),
        noise("dynamic_range", Unit::decibel, "largest input at 1 kHz over A-weighted noise",
              in_band<dynamic_range_db>),
        whole("phase_margin", Unit::degree, "least of all amplifiers' loops", phase_margin),
        whole("gain_margin", Unit::decibel, "least of all amplifiers' loops", gain_margin),
        at("loop_gain", Unit::decibel, "least of all amplifiers' loops, at a frequency", loop_gain),
        whole("mode_q", Unit::number,
              "of the sharpest natural frequency above 20 kHz; negative where one grows", mode_q),
        at("common_mode_rejection", Unit::decibel,
           "gain over that of both input terminals driven alike",
           at_frequency<common_mode_rejection_db>),
        with_part(at("supply_rejection", Unit::decibel,
                     "gain over that of a ripple in the voltage of a part", supply_rejection)),
        at("feed_rejection", Unit::decibel,
           "phantom feed over output, its resistors as unequal as they may be",
           at_frequency<feed_rejection_db>),
        band("ripple_output", Unit::dbu, "all [[ripple]] at the output, rms",
             in_band<ripple_output_dbu>),
        with_part(band("quiet_level", Unit::volt,
                       "hiss of a supply that comes out 10 dB under the board's own", quiet_level)),
        at("radio_rejection", Unit::decibel,
           "generator of 150 ohm over an amplifier's input pin, between the terminals",
           at_frequency<radio_rejection_db>),
        at("radio_common_rejection", Unit::decibel, "the same, both terminals alike",
           at_frequency<radio_common_rejection_db>),
        at("output_loss", Unit::decibel, "what load and cable take", at_frequency<output_loss_db>),
        whole("supply_margin", Unit::volt, "of the amplifier with least room in its supply range",
              worst_supply<supply_margin_v, false>),
        whole("supply_current", Unit::ampere, "from feed and batteries, or from the sources",
              nominal_supply<supply_current_a>),
        whole("feed_margin", Unit::ampere, "the feed's limit less its current",
              worst_supply<feed_margin_a, false>),
        whole("battery_life", Unit::hour, "of the battery that is empty first",
              nominal_supply<battery_life_h>),
        whole("output_offset", Unit::volt, "direct voltage at the output, offsets at their worst",
              worst_supply<output_offset_v, true>),
        whole("wiper_current", Unit::ampere, "direct current through a wiper, the largest",
              worst_supply<wiper_current_a, true>),
        whole("capacitor_stress", Unit::fraction, "direct voltage over rating, the largest",
              worst_supply<capacitor_stress, true>),
    };
    return records;
}

bool by_difference(Unit unit) {
    return unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl ||
           unit == Unit::degree || unit == Unit::fraction;
}

const MeasureRecord* find_measure(std::string_view name) {
    const auto records = measure_records();
    const auto found = std::find_if(records.begin(), records.end(),
                                    [&](const R& record) { return record.name == name; });
    return found == records.end() ? nullptr : &*found;
}

}  // namespace lowhiss
