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

R record(std::string_view name, MeasureValue (*find)(Setting&, const Arguments&)) {
    const MeasureSchema* schema = find_measure_schema(name);
    return {schema->name, schema->unit, schema, false, find, nullptr};
}

R noise(std::string_view name, MeasureValue (*find)(Setting&, const Arguments&)) {
    R noisy = record(name, find);
    noisy.noise = true;
    return noisy;
}

R knob(std::string_view name, MeasureValue (*find)(Settings, const Arguments&)) {
    R over_knob = record(name, nullptr);
    over_knob.over_knob = find;
    return over_knob;
}

}  // namespace

std::span<const MeasureRecord> measure_records() {
    static const std::array records{
        record("gain", at_frequency<gain_db>),
        record("gain_from_terminals", at_frequency<gain_from_terminals_db>),
        knob("gain_range", gain_range),
        knob("gain_step", largest_gain_step),
        record("attenuation", attenuation),
        record("flatness", spread_in_band<gain_db>),
        record("low_corner", low_corner),
        record("high_corner", high_corner),
        record("phase", at_frequency<phase_deg>),
        record("phase_spread", spread_in_band<phase_deg>),
        record("group_delay", at_frequency<group_delay_s>),
        record("group_delay_spread", spread_in_band<group_delay_s>),
        record("input_impedance", smallest_in_band<input_impedance_ohm>),
        record("output_impedance", largest_in_band<output_impedance_ohm>),
        record("capsule_effect", at_frequency<capsule_effect_db>),
        record("capsule_effect_spread", capsule_effect_spread),
        noise("ein", in_band<ein_dbu>),
        noise("ein_a", in_band<ein_a_dbu>),
        noise("ein_468", in_band<ein_468_dbu>),
        noise("noise_figure", in_band<noise_figure_db>),
        noise("output_noise", in_band<output_noise_v>),
        noise("capsule_noise_rise", in_band<capsule_noise_rise_db>),
        noise("noise_share", part_share),
        record("bass_loss", part_loss),
        record("max_input", at_frequency<max_input_dbu>),
        record("max_output", at_frequency<max_output_dbu>),
        record("max_spl", at_frequency<max_spl_db>),
        record("output_level", at_frequency<output_level_dbu>),
        noise("self_noise", in_band<self_noise_db_spl>),
        noise("dynamic_range", in_band<dynamic_range_db>),
        record("phase_margin", phase_margin),
        record("gain_margin", gain_margin),
        record("loop_gain", loop_gain),
        record("mode_q", mode_q),
        record("common_mode_rejection", at_frequency<common_mode_rejection_db>),
        record("supply_rejection", supply_rejection),
        record("feed_rejection", at_frequency<feed_rejection_db>),
        record("ripple_output", in_band<ripple_output_dbu>),
        record("quiet_level", quiet_level),
        record("radio_rejection", at_frequency<radio_rejection_db>),
        record("radio_common_rejection", at_frequency<radio_common_rejection_db>),
        record("output_loss", at_frequency<output_loss_db>),
        record("supply_margin", worst_supply<supply_margin_v, false>),
        record("supply_current", nominal_supply<supply_current_a>),
        record("feed_margin", worst_supply<feed_margin_a, false>),
        record("battery_life", nominal_supply<battery_life_h>),
        record("output_offset", worst_supply<output_offset_v, true>),
        record("wiper_current", worst_supply<wiper_current_a, true>),
        record("capacitor_stress", worst_supply<capacitor_stress, true>),
    };
    return records;
}

const MeasureRecord* find_measure(std::string_view name) {
    const auto records = measure_records();
    const auto found = std::find_if(records.begin(), records.end(),
                                    [&](const R& record) { return record.name == name; });
    return found == records.end() ? nullptr : &*found;
}

const MeasureRecord& record_of(const MeasureSchema& schema) {
    return *find_measure(schema.name);
}

}  // namespace lowhiss
