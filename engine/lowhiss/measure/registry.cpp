#include "lowhiss/measure/registry.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/battery_life.hpp"
#include "lowhiss/measure/capsule_loading.hpp"
#include "lowhiss/measure/distortion.hpp"
#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/gain_over_knob.hpp"
#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/model_figures.hpp"
#include "lowhiss/measure/output_balance.hpp"
#include "lowhiss/measure/output_load.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"
#include "lowhiss/measure/rejection.hpp"
#include "lowhiss/measure/source_noise.hpp"
#include "lowhiss/measure/stability.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

using Arguments = MeasureArguments;
using Slopes = MeasureRecord::Slopes;
using Gains = MeasureRecord::Gains;
using Sensitivities = MeasureRecord::Sensitivities;

template <double (*Figure)(Setting&, double)>
MeasureValue at_frequency(Setting& setting, const Arguments& arguments) {
    return {Figure(setting, arguments.at_hz), arguments.at_hz};
}

template <double (*Figure)(Setting&, const Band&)>
MeasureValue in_band(Setting& setting, const Arguments& arguments) {
    return {Figure(setting, arguments.band), unset};
}

Extremes extremes(Setting& setting, double (*figure)(Setting&, double), const Band& band) {
    setting.prepare(scan_frequencies_hz(band, setting.flanks_hz()));
    return extremes_over_band([&](double f_hz) { return figure(setting, f_hz); }, band,
                              setting.flanks_hz());
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

/// Largest less smallest; its frequency is that of the two which is farther from the value at 1
/// kHz.
template <double (*Figure)(Setting&, double)>
MeasureValue spread_in_band(Setting& setting, const Arguments& arguments) {
    const auto [least, most] = extremes(setting, Figure, arguments.band);
    const double middle = Figure(setting, reference_hz);
    const bool high = std::abs(most.value - middle) > std::abs(least.value - middle);
    return {most.value - least.value, high ? most.at_hz : least.at_hz};
}

MeasureValue capsule_effect_spread(Setting& setting, const Arguments& arguments) {
    setting.prepare_ideal(scan_frequencies_hz(arguments.band, setting.flanks_hz()));
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

template <double (*Figure)(Setting&)>
MeasureValue of_setting(Setting& setting, const Arguments&) {
    return {Figure(setting)};
}

MeasureValue part_share(Setting& setting, const Arguments& arguments) {
    return {noise_share(setting, arguments.band, arguments.part)};
}

MeasureValue noise_figure_at(Setting& setting, const Arguments& arguments) {
    return {noise_figure_at_db(setting, arguments.band, arguments.source_ohm)};
}

MeasureValue best_source_resistance(Setting& setting, const Arguments& arguments) {
    return {setting.best_source(arguments.band).resistance_ohm};
}

MeasureValue least_noise_figure(Setting& setting, const Arguments& arguments) {
    return {setting.best_source(arguments.band).noise_figure_db};
}

template <double InputNoiseSources::*Figure>
MeasureValue input_source(Setting& setting, const Arguments& arguments) {
    return {setting.input_noise(arguments.at_hz).*Figure, arguments.at_hz};
}

template <double Distortion::*Figure>
MeasureValue harmonic(Setting& setting, const Arguments& arguments) {
    const Distortion found = distortion_at(setting, arguments.at_hz, arguments.level);
    return {found.clips ? infinite : found.*Figure, arguments.at_hz};
}

std::vector<std::string> clipping_part(Setting& setting, const Arguments& arguments) {
    const std::string part = headroom_at(setting, arguments.at_hz).part;
    if (part.empty()) return {};  // nothing clips
    return {part};
}

std::vector<std::string> distorting_parts(Setting& setting, const Arguments& arguments) {
    const Distortion found = distortion_at(setting, arguments.at_hz, arguments.level);
    if (found.clips) return clipping_part(setting, arguments);
    std::vector<std::string> names;
    for (const PartDistortion& part : found.by_part) {
        constexpr double minor_share = 0.1;
        const PartDistortion& first = found.by_part.front();
        const double least = minor_share * std::hypot(first.second, first.third);
        if (std::hypot(part.second, part.third) > least) names.push_back(part.part);
    }
    return names;
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

MeasureValue life_of_batteries(Setting& setting, const Arguments&) {
    return {battery_life(setting.board(), setting.angle(), setting.capsule()).hours};
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

using P = PartSensitivity;
using Curve = double (*)(Setting&, double);
using CurveSlope = Slopes (P::*)(double);

template <CurveSlope Slope>
Slopes slope_at(P& parts, const Arguments& arguments) {
    return (parts.*Slope)(arguments.at_hz);
}

template <Slopes (P::*Slope)(const Band&)>
Slopes slope_in_band(P& parts, const Arguments& arguments) {
    return (parts.*Slope)(arguments.band);
}

template <Slopes (P::*Slope)()>
Slopes slope_of_whole(P& parts, const Arguments&) {
    return (parts.*Slope)();
}

/// To first order, a shift of the extreme along the frequency axis changes nothing.
template <Curve Figure, CurveSlope Slope>
Slopes slope_of_smallest(P& parts, const Arguments& arguments) {
    const Extreme least = extremes(parts.setting(), Figure, arguments.band).smallest;
    return std::isnan(least.at_hz) ? parts.none() : (parts.*Slope)(least.at_hz);
}

template <Curve Figure, CurveSlope Slope>
Slopes slope_of_largest(P& parts, const Arguments& arguments) {
    const Extreme most = extremes(parts.setting(), Figure, arguments.band).largest;
    return std::isnan(most.at_hz) ? parts.none() : (parts.*Slope)(most.at_hz);
}

template <Curve Figure, CurveSlope Slope>
Slopes slope_of_spread(P& parts, const Arguments& arguments) {
    const auto [least, most] = extremes(parts.setting(), Figure, arguments.band);
    if (std::isnan(most.at_hz)) return parts.none();
    return difference((parts.*Slope)(most.at_hz), (parts.*Slope)(least.at_hz));
}

Slopes attenuation_slope(P& parts, const Arguments& arguments) {
    return difference(parts.gain(reference_hz), parts.gain(arguments.at_hz));
}

Slopes noise_share_slope(P& parts, const Arguments& arguments) {
    return parts.noise_share(arguments.band, arguments.part);
}

// A corner or a margin that the whole range of frequencies does not have is outside every limit.

double below_all(Setting&) {
    return 0;
}
double above_all(Setting&) {
    return infinite;
}
double without_phase_crossover(Setting& setting) {
    return setting.stability().worst_loop() != nullptr ? infinite : unset;
}
double without_mode(Setting& setting) {
    const Stability& stability = setting.stability();
    return stability.worst_loop() && stability.stable ? 0 : unset;
}

using Keys = std::span<const std::string_view>;
using FindAtSetting = MeasureValue (*)(Setting&, const Arguments&);
using FindSlope = Slopes (*)(P&, const Arguments&);

MeasureRecord measure(std::string_view name, FindAtSetting find, FindSlope slope = nullptr) {
    const MeasureSchema* schema = find_measure_schema(name);
    return {name, schema->unit, schema, find, nullptr, slope};
}

MeasureRecord over_knob(std::string_view name, MeasureValue (*find)(Gains, const Arguments&),
                        Slopes (*slope)(Sensitivities, const Arguments&)) {
    MeasureRecord record = measure(name, nullptr);
    record.over_knob = find;
    record.slope_over_knob = slope;
    return record;
}

MeasureRecord resting_on(Keys keys, IdealFigure ideal, MeasureRecord record) {
    record.rests_on = keys;
    record.ideal = ideal;
    return record;
}

MeasureRecord with_cusp(MeasureRecord record) {
    record.cusp = true;
    return record;
}

MeasureRecord noise_measure(std::string_view name, FindAtSetting find, FindSlope slope) {
    MeasureRecord record =
        resting_on(model_figures::noise, IdealFigure::smallest, measure(name, find, slope));
    record.noise = true;
    return record;
}

MeasureRecord of_bass(MeasureRecord::Bass bass, MeasureRecord record) {
    record.bass = bass;
    return record;
}

MeasureRecord naming(std::vector<std::string> (*parts)(Setting&, const Arguments&),
                     MeasureRecord record) {
    record.named_parts = parts;
    return record;
}

MeasureRecord with_ideal(IdealFigure ideal, MeasureRecord record) {
    record.ideal = ideal;
    return record;
}

MeasureRecord if_not_found(double (*value)(Setting&), MeasureRecord record) {
    record.when_not_found = value;
    return record;
}

}  // namespace

std::span<const MeasureRecord> measure_records() {
    using Bass = MeasureRecord::Bass;
    static const std::array records{
        of_bass(Bass::gain, measure("gain", at_frequency<gain_db>, slope_at<&P::gain>)),
        measure("gain_from_terminals", at_frequency<gain_from_terminals_db>,
                slope_at<&P::gain_from_terminals>),
        over_knob("gain_range", gain_range, gain_range_slope),
        over_knob("gain_step", gain_step, gain_step_slope),
        of_bass(Bass::loss, measure("attenuation", attenuation, attenuation_slope)),
        of_bass(Bass::loss,
                measure("flatness", spread_in_band<gain_db>, slope_of_spread<gain_db, &P::gain>)),
        of_bass(Bass::loss, if_not_found(below_all, measure("low_corner", low_corner,
                                                            slope_of_whole<&P::low_corner>))),
        resting_on(model_figures::storage, IdealFigure::largest,
                   if_not_found(above_all, measure("high_corner", high_corner,
                                                   slope_of_whole<&P::high_corner>))),
        measure("phase", at_frequency<phase_deg>, slope_at<&P::phase>),
        measure("phase_spread", spread_in_band<phase_deg>, slope_of_spread<phase_deg, &P::phase>),
        measure("polarity", of_setting<polarity>),
        measure("group_delay", at_frequency<group_delay_s>, slope_at<&P::group_delay>),
        measure("group_delay_spread", spread_in_band<group_delay_s>,
                slope_of_spread<group_delay_s, &P::group_delay>),
        measure("input_impedance", smallest_in_band<input_impedance_ohm>,
                slope_of_smallest<input_impedance_ohm, &P::input_impedance>),
        resting_on(model_figures::output, IdealFigure::smallest,
                   measure("output_impedance", largest_in_band<output_impedance_ohm>,
                           slope_of_largest<output_impedance_ohm, &P::output_impedance>)),
        measure("capsule_effect", at_frequency<capsule_effect_db>, slope_at<&P::capsule_effect>),
        measure("capsule_effect_spread", capsule_effect_spread,
                slope_of_spread<capsule_effect_db, &P::capsule_effect>),
        noise_measure("ein", in_band<ein_dbu>, slope_in_band<&P::ein>),
        noise_measure("ein_a", in_band<ein_a_dbu>, slope_in_band<&P::ein_a>),
        noise_measure("ein_468", in_band<ein_468_dbu>, slope_in_band<&P::ein_468>),
        noise_measure("noise_figure", in_band<noise_figure_db>, slope_in_band<&P::noise_figure>),
        noise_measure("output_noise", in_band<output_noise_v>, slope_in_band<&P::output_noise>),
        with_ideal(IdealFigure::either,
                   noise_measure("capsule_noise_rise", in_band<capsule_noise_rise_db>,
                                 slope_in_band<&P::capsule_noise_rise>)),
        noise_measure("noise_figure_at", noise_figure_at, nullptr),
        with_ideal(IdealFigure::either,
                   noise_measure("best_source_resistance", best_source_resistance, nullptr)),
        noise_measure("least_noise_figure", least_noise_figure, nullptr),
        noise_measure("input_voltage_noise", input_source<&InputNoiseSources::voltage_v_rthz>,
                      nullptr),
        noise_measure("input_current_noise", input_source<&InputNoiseSources::current_a_rthz>,
                      nullptr),
        with_ideal(IdealFigure::either,
                   noise_measure("noise_correlation", input_source<&InputNoiseSources::correlation>,
                                 nullptr)),
        with_ideal(IdealFigure::either,
                   noise_measure("noise_share", part_share, noise_share_slope)),
        measure("bass_loss", part_loss),
        measure("loading_loss", largest_in_band<loading_loss_db>),
        resting_on(model_figures::swing, IdealFigure::largest,
                   naming(clipping_part, measure("max_input", at_frequency<max_input_dbu>))),
        resting_on(model_figures::swing, IdealFigure::largest,
                   naming(clipping_part, measure("max_output", at_frequency<max_output_dbu>))),
        resting_on(model_figures::swing, IdealFigure::largest,
                   naming(clipping_part, measure("max_spl", at_frequency<max_spl_db>))),
        measure("output_level", at_frequency<output_level_dbu>, slope_at<&P::gain>),
        resting_on(
            model_figures::linearity, IdealFigure::smallest,
            naming(distorting_parts, measure("second_harmonic", harmonic<&Distortion::second>))),
        resting_on(
            model_figures::linearity, IdealFigure::smallest,
            naming(distorting_parts, measure("third_harmonic", harmonic<&Distortion::third>))),
        resting_on(model_figures::linearity, IdealFigure::smallest,
                   naming(distorting_parts, measure("distortion", harmonic<&Distortion::total>))),
        noise_measure("self_noise", in_band<self_noise_db_spl>, slope_in_band<&P::ein_a>),
        resting_on(model_figures::swing_and_noise, IdealFigure::largest,
                   noise_measure("dynamic_range", in_band<dynamic_range_db>, nullptr)),
        resting_on(model_figures::margins, IdealFigure::largest,
                   measure("phase_margin", phase_margin)),
        resting_on(model_figures::margins, IdealFigure::largest,
                   if_not_found(without_phase_crossover, measure("gain_margin", gain_margin))),
        resting_on(model_figures::output_resistance, IdealFigure::largest,
                   measure("loop_gain", loop_gain)),
        resting_on(model_figures::margins, IdealFigure::either,
                   if_not_found(without_mode, measure("mode_q", mode_q))),
        resting_on(
            model_figures::cmrr, IdealFigure::largest,
            with_cusp(measure("common_mode_rejection", at_frequency<common_mode_rejection_db>,
                              slope_at<&P::common_mode_rejection>))),
        resting_on(model_figures::rejection, IdealFigure::largest,
                   measure("supply_rejection", supply_rejection)),
        measure("feed_rejection", at_frequency<feed_rejection_db>),
        resting_on(model_figures::rejection, IdealFigure::smallest,
                   measure("ripple_output", in_band<ripple_output_dbu>)),
        resting_on(model_figures::rejection_and_noise, IdealFigure::either,
                   measure("quiet_level", quiet_level)),
        measure("radio_rejection", at_frequency<radio_rejection_db>),
        measure("radio_common_rejection", at_frequency<radio_common_rejection_db>),
        resting_on(model_figures::output, IdealFigure::smallest,
                   measure("output_loss", at_frequency<output_loss_db>)),
        resting_on(model_figures::output, IdealFigure::smallest,
                   measure("plus_pin_impedance", at_frequency<plus_pin_impedance_ohm>)),
        resting_on(model_figures::output, IdealFigure::smallest,
                   measure("minus_pin_impedance", at_frequency<minus_pin_impedance_ohm>)),
        resting_on(model_figures::output_resistance, IdealFigure::either,
                   measure("output_balance", at_frequency<output_balance_db>)),
        measure("settling_time", of_setting<settling_s>),
        measure("switch_on_thump", of_setting<thump_v>),
        resting_on(model_figures::supply_range, IdealFigure::largest,
                   measure("supply_margin", worst_supply<supply_margin_v, false>)),
        resting_on(model_figures::supply_current, IdealFigure::smallest,
                   measure("supply_current", nominal_supply<supply_current_a>)),
        resting_on(model_figures::supply_current, IdealFigure::largest,
                   measure("feed_margin", worst_supply<feed_margin_a, false>)),
        resting_on(model_figures::current_and_least_supply, IdealFigure::largest,
                   measure("battery_life", life_of_batteries)),
        resting_on(model_figures::offsets, IdealFigure::smallest,
                   measure("output_offset", worst_supply<output_offset_v, true>)),
        measure("wiper_current", worst_supply<wiper_current_a, true>),
        measure("capacitor_stress", worst_supply<capacitor_stress, true>),
    };
    return records;
}

const MeasureRecord* find_measure(std::string_view name) {
    const auto records = measure_records();
    const auto found =
        std::find_if(records.begin(), records.end(),
                     [&](const MeasureRecord& record) { return record.name == name; });
    return found == records.end() ? nullptr : &*found;
}

const MeasureRecord& record_of(const MeasureSchema& schema) {
    return *find_measure(schema.name);
}

MeasureValue value_of(const MeasureRecord& measure, const MeasureArguments& arguments,
                      Assembly& assembly, double rotation) {
    if (measure.over_knob) return measure.over_knob(assembly.gains_db(arguments.at_hz), arguments);
    return measure.at_setting(assembly.setting(rotation), arguments);
}

std::vector<double> slope_of(const MeasureRecord& measure, const MeasureArguments& arguments,
                             PartSensitivity& sensitivity) {
    return measure.slope ? measure.slope(sensitivity, arguments) : sensitivity.none();
}

std::vector<double> slope_over_knob(const MeasureRecord& measure, const MeasureArguments& arguments,
                                    std::span<PartSensitivity* const> sensitivities) {
    if (!measure.slope_over_knob) return sensitivities.front()->none();
    return measure.slope_over_knob(sensitivities, arguments);
}

}  // namespace lowhiss
