#include "lowhiss/promise/limit_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/promise/look_at.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

/// The value that a limit judges. If the whole range of frequencies was searched and the figure not
/// found, its measure may have a value that stands for it. A measured capsule bounds the range.
double judged_value(const MeasureRecord& measure, double value, Setting& setting) {
    if (!std::isnan(value) || !measure.when_not_found) return value;
    const Circuit& circuit = setting.circuit();
    const bool searched = circuit.lowest_hz == 0 && circuit.highest_hz == infinite &&
                          std::isfinite(gain_db(setting, reference_hz));
    return searched ? measure.when_not_found(setting) : value;
}

double margin_of(double value, double min, double max) {
    const double above = std::isnan(min) ? infinite : value - min;
    const double below = std::isnan(max) ? infinite : max - value;
    return std::min(above, below);
}

bool is_logarithmic(Unit unit) {
    return unit == Unit::decibel || unit == Unit::dbu || unit == Unit::db_spl ||
           unit == Unit::degree;
}

/// The margin itself in a logarithmic unit; otherwise the ratio of value and bound in dB.
double comparable_margin(const Verdict& v) {
    if (is_logarithmic(v.unit)) return v.margin;
    const bool nearer_min = !std::isnan(v.min) && v.value - v.min == v.margin;
    const double ratio = nearer_min ? v.value / v.min : v.max / v.value;
    return ratio > 0 ? 20 * std::log10(ratio) : v.margin;
}

void judge(Verdict& v) {
    if (std::isnan(v.value)) {
        v.reason = "the figure does not exist here";
        return;
    }
    v.margin = margin_of(v.value, v.min, v.max);
    v.margin_db = comparable_margin(v);
    v.outcome = v.margin >= 0 ? Outcome::pass : Outcome::fail;
}

/// If models leave figures out, the real figure lies on the bad side of this value. If that does
/// not decide the limit, the outcome is not known.
void doubt(IdealFigure ideal, Verdict& v) {
    if (v.assumes_ideal.empty()) return;
    const bool known = !std::isnan(v.value);
    double least = -infinite;
    double most = infinite;
    if (known && ideal == IdealFigure::smallest) least = v.value;
    if (known && ideal == IdealFigure::largest) most = v.value;
    const bool within = !v.is_mask && !(least < v.min) && !(most > v.max);
    if (within || most < v.min || least > v.max) return;
    v.outcome = Outcome::not_known;
    v.reason = "not known: " + text_of(v.assumes_ideal);
    v.margin = v.margin_db = unset;
}

/// A mask's bounds at a frequency within it.
MaskPoint mask_at(const std::vector<MaskPoint>& mask, double frequency_hz) {
    const auto above = std::find_if(mask.begin() + 1, mask.end() - 1, [&](const MaskPoint& point) {
        return point.frequency_hz >= frequency_hz;
    });
    const MaskPoint& low = *(above - 1);
    const double along = std::log(frequency_hz / low.frequency_hz) /
                         std::log(above->frequency_hz / low.frequency_hz);
    return {frequency_hz, std::lerp(low.min, above->min, along),
            std::lerp(low.max, above->max, along)};
}

/// The worst frequency of a mask: where the margin is smallest, on and between its points.
void judge_mask(const Limit& limit, Setting& setting, Verdict& v) {
    const MeasureRecord& measure = record_of(*limit.measure);
    const auto value_at = [&](double f_hz) {
        MeasureArguments arguments = limit.arguments;
        arguments.at_hz = f_hz;
        return measure.at_setting(setting, arguments).value;
    };
    const auto margin_at = [&](double f_hz) {
        const MaskPoint bounds = mask_at(limit.mask, f_hz);
        const double margin = margin_of(value_at(f_hz), bounds.min, bounds.max);
        return std::isfinite(margin) ? margin : unset;
    };
    std::vector<double> points;
    for (const MaskPoint& point : limit.mask) points.push_back(point.frequency_hz);
    const Extreme worst =
        extremes_over_band(margin_at, {points.front(), points.back()}, points).smallest;
    if (std::isnan(worst.at_hz)) return judge(v);
    const MaskPoint bounds = mask_at(limit.mask, worst.at_hz);
    v.at_hz = worst.at_hz;
    v.min = bounds.min;
    v.max = bounds.max;
    v.value = value_at(worst.at_hz);
    judge(v);
}

}  // namespace

LimitCheck::LimitCheck(Assembly& assembly, const CheckRequest& request)
    : assembly_(assembly),
      limits_(request.limits),
      advice_(request.advice),
      gaps_(assembly.board()),
      ask_for_gaps_(request.model_gaps && gaps_.any()),
      tasks_(tasks()) {}

std::vector<double> LimitCheck::all_rotations() const {
    std::vector<double> all = assembly_.positions();
    for (const Task& task : tasks_) {
        const bool known = std::find(all.begin(), all.end(), task.rotation) != all.end();
        if (!known && !std::isnan(task.rotation)) all.push_back(task.rotation);
    }
    return all;
}

void LimitCheck::check_at(double rotation) {
    for (Task& task : tasks_) {
        if (task.rotation == rotation) task.verdict = guarded(*task.limit, rotation);
    }
    gaps_.forget(rotation);
}

std::set<double> LimitCheck::frequencies_over_knob() const {
    std::set<double> all;
    for (const Task& task : tasks_) {
        if (std::isnan(task.rotation)) all.insert(task.limit->arguments.at_hz);
    }
    return all;
}

void LimitCheck::check_over_knob() {
    for (Task& task : tasks_) {
        if (std::isnan(task.rotation)) task.verdict = guarded(*task.limit, unset);
    }
}

std::vector<Verdict> LimitCheck::verdicts() {
    std::vector<Verdict> all;
    for (Task& task : tasks_) all.push_back(std::move(task.verdict));
    return all;
}

std::vector<LimitCheck::Task> LimitCheck::tasks() const {
    std::vector<Task> list;
    for (const Limit& limit : limits_) {
        if (!applies(limit)) continue;
        if (limit.measure->over_knob) {
            list.push_back({&limit, unset});
            continue;
        }
        for (const double rotation : rotations(limit)) list.push_back({&limit, rotation});
    }
    return list;
}

bool LimitCheck::applies(const Limit& limit) const {
    const std::string_view name =
        assembly_.variant().empty() ? plain_variant : std::string_view(assembly_.variant());
    const auto listed = [](const std::vector<std::string>& names, std::string_view wanted) {
        return std::find(names.begin(), names.end(), wanted) != names.end();
    };
    if (!limit.variants.empty() && !listed(limit.variants, name)) return false;
    return limit.capsules.empty() ? assembly_.capsule_name() == assembly_.board().input.capsule
                                  : listed(limit.capsules, assembly_.capsule_name());
}

std::vector<double> LimitCheck::rotations(const Limit& limit) const {
    if (!assembly_.board().knob || limit.knob.empty()) return assembly_.positions();
    return limit.knob;
}

Verdict LimitCheck::guarded(const Limit& limit, double rotation) {
    Verdict v;
    v.limit = limit.name;
    v.measure = limit.measure->name;
    v.is_mask = !limit.mask.empty();
    v.unit = limit.measure->unit;
    v.variant = assembly_.variant();
    v.capsule = assembly_.capsule_name();
    v.knob = assembly_.board().knob ? rotation : unset;
    v.min = limit.min;
    v.max = limit.max;
    try {
        take(limit, rotation, v);
        if (ask_for_gaps_ && !limit.measure->over_knob) {
            find_gaps(limit, assembly_.setting(rotation), v);
        }
        if (v.outcome == Outcome::fail && advice_) {
            const double at = std::isnan(rotation) ? rotations(limit).back() : rotation;
            v.look_at = parts_to_look_at(limit, assembly_, at, v);
        }
    } catch (const Error& error) {
        v.outcome = Outcome::not_computed;
        v.reason = error.what();
        v.no_solution = error.kind() == Error::Kind::no_unique_solution;
    }
    return v;
}

void LimitCheck::take(const Limit& limit, double rotation, Verdict& v) {
    if (!limit.mask.empty()) return judge_mask(limit, assembly_.setting(rotation), v);
    const MeasureRecord& measure = record_of(*limit.measure);
    const MeasureValue found = value_of(measure, limit.arguments, assembly_, rotation);
    v.at_hz = found.at_hz;
    v.value = measure.over_knob ? found.value
                                : judged_value(measure, found.value, assembly_.setting(rotation));
    judge(v);
    if (limit.measure->takes_level && v.value == infinite) {
        v.reason = std::string(limit.measure->name) + ": clips at this level";
    }
    if (limit.measure->takes_level && v.outcome == Outcome::pass) doubt_distortion(v);
    if (!std::isnan(v.value)) return;
    const std::string_view condition = unset_if(*limit.measure);
    if (!measure.over_knob && is_silent(limit.arguments.at_hz, rotation)) {
        v.reason = "no signal reaches the output at " +
                   print_quantity(limit.arguments.at_hz, Unit::hertz, 4);
    } else if (!condition.empty()) {
        v.reason += fmt::format(": {}", condition);
    }
}

/// A preamp IC is linear here until it clips, whatever it does in reality.
void LimitCheck::doubt_distortion(Verdict& v) const {
    std::vector<std::string> ics;
    for (const Part& part : assembly_.board().parts) {
        if (part.fitted && std::holds_alternative<PreampIc>(part.data)) ics.push_back(part.name);
    }
    if (ics.empty()) return;
    v.outcome = Outcome::not_known;
    v.reason = fmt::format("not known: the distortion of a preamp IC is not modelled: {}",
                           fmt::join(ics, ", "));
    v.margin = v.margin_db = unset;
}

bool LimitCheck::is_silent(double frequency_hz, double rotation) {
    Setting& setting = assembly_.setting(rotation);
    const Circuit& circuit = setting.circuit();
    if (frequency_hz < circuit.lowest_hz || frequency_hz > circuit.highest_hz) return false;
    return setting.at(frequency_hz).gain == 0.0;
}

void LimitCheck::find_gaps(const Limit& limit, Setting& setting, Verdict& v) {
    const MeasureRecord& measure = record_of(*limit.measure);
    if (measure.rests_on.empty()) return;
    MeasureArguments arguments = limit.arguments;
    if (v.is_mask && !std::isnan(v.at_hz)) arguments.at_hz = v.at_hz;
    const double value = measure.at_setting(setting, arguments).value;
    v.assumes_ideal = gaps_.behind(measure, arguments, setting, value);
    doubt(place_of_ideal(measure, v.assumes_ideal), v);
}

}  // namespace lowhiss
