#include "lowhiss/measure/check.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/topology/check.hpp"

namespace lowhiss {
namespace {

/// What there is no corner of is beyond every bound in the searched range.
double taken_as(const MeasureRecord& measure, double value) {
    if (!std::isnan(value)) return value;
    if (measure.name == "low_corner") return 0;
    if (measure.name == "high_corner") return infinite;
    return value;
}

double margin_of(double value, double min, double max) {
    const double above = std::isnan(min) ? infinite : value - min;
    const double below = std::isnan(max) ? infinite : max - value;
    return std::min(above, below);
}

bool is_logarithmic(Unit unit) {
    return unit == Unit::decibel || unit == Unit::dbu || unit == Unit::degree;
}

/// In dB; of a quantity that is not logarithmic, how far in ratio the value is from the bound.
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
    v.outcome = v.margin >= 0 ? Outcome::met : Outcome::missed;
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
    const auto value_at = [&](double f_hz) {
        MeasureArguments arguments = limit.arguments;
        arguments.at_hz = f_hz;
        return limit.measure->at_setting(setting, arguments).value;
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

/// One assembly with one capsule: its settings, and the limits that apply to it.
class AssemblyCheck {
  public:
    AssemblyCheck(const Board& board, const std::string& variant, const std::string& capsule,
                  const std::vector<Limit>& limits)
        : assembled_(with_variant(board, find_variant(board, variant))),
          variant_(variant),
          capsule_name_(capsule),
          limits_(limits) {
        const auto model = assembled_.models.capsules.find(capsule);
        capsule_ = model == assembled_.models.capsules.end() ? nullptr : &model->second;
    }

    std::vector<Verdict> check() {
        std::vector<Verdict> verdicts;
        for (const Limit& limit : limits_) {
            if (!applies(limit)) continue;
            if (limit.measure->over_knob)
                verdicts.push_back(guarded(limit, unset));
            else {
                for (const double rotation : rotations(limit)) {
                    verdicts.push_back(guarded(limit, rotation));
                }
            }
        }
        return verdicts;
    }

  private:
    bool applies(const Limit& limit) const {
        const std::string_view name = variant_.empty() ? plain_variant : std::string_view(variant_);
        const auto listed = [](const std::vector<std::string>& names, std::string_view wanted) {
            return std::find(names.begin(), names.end(), wanted) != names.end();
        };
        if (!limit.variants.empty() && !listed(limit.variants, name)) return false;
        return limit.capsules.empty() ? capsule_name_ == assembled_.input.capsule
                                      : listed(limit.capsules, capsule_name_);
    }

    std::vector<double> rotations(const Limit& limit) const {
        if (!assembled_.knob) return {0};
        return limit.knob.empty() ? assembled_.knob->positions : limit.knob;
    }

    Setting& setting(double rotation) {
        auto& slot = settings_[rotation];
        if (!slot) {
            const Diagnostics findings = check_assembly(assembled_, capsule_, {&rotation, 1});
            if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, findings);
            slot = std::make_unique<Setting>(assembled_, capsule_, rotation);
        }
        return *slot;
    }

    Verdict guarded(const Limit& limit, double rotation) {
        Verdict v;
        v.limit = limit.name;
        v.measure = limit.measure->name;
        v.unit = limit.measure->unit;
        v.variant = variant_;
        v.capsule = capsule_name_;
        v.knob = assembled_.knob ? rotation : unset;
        v.min = limit.min;
        v.max = limit.max;
        try {
            take(limit, rotation, v);
            if (v.outcome == Outcome::missed) {
                const double at = std::isnan(rotation) ? rotations(limit).back() : rotation;
                v.look_at = parts_to_look_at(limit, assembled_, capsule_, at, v.at_hz);
            }
        } catch (const Error& error) {
            v.outcome = Outcome::not_computed;
            v.reason = error.what();
        }
        return v;
    }

    void take(const Limit& limit, double rotation, Verdict& v) {
        if (!limit.mask.empty()) return judge_mask(limit, setting(rotation), v);
        MeasureValue found;
        if (limit.measure->over_knob) {
            std::vector<Setting*> all;
            for (const double each : rotations(limit)) all.push_back(&setting(each));
            found = limit.measure->over_knob(all, limit.arguments);
        } else {
            found = limit.measure->at_setting(setting(rotation), limit.arguments);
        }
        v.value = taken_as(*limit.measure, found.value);
        v.at_hz = found.at_hz;
        judge(v);
    }

    Board assembled_;
    std::string variant_;
    std::string capsule_name_;
    const Capsule* capsule_;
    const std::vector<Limit>& limits_;
    std::map<double, std::unique_ptr<Setting>> settings_;
};

/// Every capsule that a limit names, and the variant's own.
std::vector<std::string> capsules_for(const Board& board, const std::string& variant,
                                      const std::vector<Limit>& limits) {
    std::vector<std::string> names{with_variant(board, find_variant(board, variant)).input.capsule};
    for (const Limit& limit : limits) {
        for (const std::string& name : limit.capsules) {
            if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
        }
    }
    return names;
}

}  // namespace

std::vector<Verdict> check_limits(const Board& board, const std::vector<Limit>& limits) {
    std::vector<std::string> variants{""};
    for (const Variant& variant : board.variants) variants.push_back(variant.name);
    std::vector<std::pair<std::string, std::string>> assemblies;
    for (const std::string& variant : variants) {
        for (const std::string& capsule : capsules_for(board, variant, limits)) {
            assemblies.emplace_back(variant, capsule);
        }
    }
    std::vector<std::vector<Verdict>> found(assemblies.size());
    on_all_cores(assemblies.size(), [&](std::size_t k) {
        const auto& [variant, capsule] = assemblies[k];
        found[k] = AssemblyCheck(board, variant, capsule, limits).check();
    });
    std::vector<Verdict> all;
    for (std::vector<Verdict>& some : found) {
        std::move(some.begin(), some.end(), std::back_inserter(all));
    }
    return all;
}

}  // namespace lowhiss
