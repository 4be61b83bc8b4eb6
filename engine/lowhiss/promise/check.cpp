#include "lowhiss/promise/check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/promise/look_at.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

/// The value that a limit judges. If the whole range of frequencies was searched and the figure not
/// found, its measure may say what stands for it; a measured capsule bounds the range.
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

/// A figure of models that leave something out lies on the bad side of its value. Where that does
/// not decide the limit, the outcome is not known.
void doubt(IdealFigure ideal, Verdict& v) {
    if (v.assumes_ideal.empty()) return;
    const bool known = !std::isnan(v.value);
    const double least = known && ideal == IdealFigure::smallest ? v.value : -infinite;
    const double most = known && ideal == IdealFigure::largest ? v.value : infinite;
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

class LimitCheck {
  public:
    LimitCheck(Assembly& assembly, const CheckRequest& request)
        : assembly_(assembly),
          limits_(request.limits),
          advice_(request.advice),
          gaps_(assembly.board()),
          ask_for_gaps_(request.model_gaps && gaps_.any()),
          tasks_(tasks()) {}

    /// The limits' verdicts in the order of limits and rotations, found so far or not.
    struct Task {
        const Limit* limit;
        double rotation;  ///< unset: over the whole knob
        Verdict verdict{};
    };

    /// All rotations that are asked about: the board's positions, then those of limits alone.
    std::vector<double> all_rotations() const {
        std::vector<double> all = assembly_.positions();
        for (const Task& task : tasks_) {
            const bool known = std::find(all.begin(), all.end(), task.rotation) != all.end();
            if (!known && !std::isnan(task.rotation)) all.push_back(task.rotation);
        }
        return all;
    }

    void check_at(double rotation) {
        for (Task& task : tasks_) {
            if (task.rotation == rotation) task.verdict = guarded(*task.limit, rotation);
        }
        gaps_.forget(rotation);
    }

    /// The frequencies of limits over the whole knob.
    std::set<double> frequencies_over_knob() const {
        std::set<double> all;
        for (const Task& task : tasks_) {
            if (std::isnan(task.rotation)) all.insert(task.limit->arguments.at_hz);
        }
        return all;
    }

    void check_over_knob() {
        for (Task& task : tasks_) {
            if (std::isnan(task.rotation)) task.verdict = guarded(*task.limit, unset);
        }
    }

    std::vector<Verdict> verdicts() {
        std::vector<Verdict> all;
        for (Task& task : tasks_) all.push_back(std::move(task.verdict));
        return all;
    }

  private:
    std::vector<Task> tasks() const {
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

    bool applies(const Limit& limit) const {
        const std::string_view name =
            assembly_.variant().empty() ? plain_variant : std::string_view(assembly_.variant());
        const auto listed = [](const std::vector<std::string>& names, std::string_view wanted) {
            return std::find(names.begin(), names.end(), wanted) != names.end();
        };
        if (!limit.variants.empty() && !listed(limit.variants, name)) return false;
        return limit.capsules.empty() ? assembly_.capsule_name() == assembly_.board().input.capsule
                                      : listed(limit.capsules, assembly_.capsule_name());
    }

    std::vector<double> rotations(const Limit& limit) const {
        if (!assembly_.board().knob || limit.knob.empty()) return assembly_.positions();
        return limit.knob;
    }

    Verdict guarded(const Limit& limit, double rotation) {
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

    void take(const Limit& limit, double rotation, Verdict& v) {
        if (!limit.mask.empty()) return judge_mask(limit, assembly_.setting(rotation), v);
        const MeasureRecord& measure = record_of(*limit.measure);
        const MeasureValue found = value_of(measure, limit.arguments, assembly_, rotation);
        v.at_hz = found.at_hz;
        v.value = measure.over_knob
                      ? found.value
                      : judged_value(measure, found.value, assembly_.setting(rotation));
        judge(v);
        if (limit.measure->takes_level && v.value == infinite) {
            v.reason = std::string(limit.measure->name) + ": clips at this level";
        }
        if (!std::isnan(v.value)) return;
        const std::string_view condition = unset_if(*limit.measure);
        if (!measure.over_knob && is_silent(limit.arguments.at_hz, rotation)) {
            v.reason = "no signal reaches the output at " +
                       print_quantity(limit.arguments.at_hz, Unit::hertz, 4);
        } else if (!condition.empty()) {
            v.reason += fmt::format(": {}", condition);
        }
    }

    bool is_silent(double frequency_hz, double rotation) {
        Setting& setting = assembly_.setting(rotation);
        const Circuit& circuit = setting.circuit();
        if (frequency_hz < circuit.lowest_hz || frequency_hz > circuit.highest_hz) return false;
        return setting.at(frequency_hz).gain == 0.0;
    }

    void find_gaps(const Limit& limit, Setting& setting, Verdict& v) {
        const MeasureRecord& measure = record_of(*limit.measure);
        if (measure.rests_on.empty()) return;
        MeasureArguments arguments = limit.arguments;
        if (v.is_mask && !std::isnan(v.at_hz)) arguments.at_hz = v.at_hz;
        const double value = measure.at_setting(setting, arguments).value;
        v.assumes_ideal = gaps_.behind(measure, arguments, setting, value);
        doubt(measure.ideal, v);
    }

    Assembly& assembly_;
    const std::vector<Limit>& limits_;
    bool advice_;
    ModelGaps gaps_;
    bool ask_for_gaps_;
    std::vector<Task> tasks_;
};

std::string own_capsule(const Board& board, const std::string& variant) {
    return with_variant(board, find_variant(board, variant)).input.capsule;
}

/// The variant's own capsule, and all that a limit names.
std::vector<std::string> capsules_for(const CheckRequest& request, const std::string& variant) {
    std::vector<std::string> names{own_capsule(*request.board, variant)};
    for (const Limit& limit : request.limits) {
        for (const std::string& name : limit.capsules) {
            if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
        }
    }
    return names;
}

std::vector<std::string> variants_of(const CheckRequest& request) {
    if (!request.variants.empty()) return request.variants;
    std::vector<std::string> variants{""};
    for (const Variant& variant : request.board->variants) variants.push_back(variant.name);
    return variants;
}

/// One assembly of one of the boards.
struct Job {
    std::size_t board;
    std::string variant;
    std::string capsule;
};

std::vector<Job> jobs_for(std::span<const CheckRequest> requests) {
    std::vector<Job> jobs;
    for (std::size_t k = 0; k < requests.size(); ++k) {
        for (const std::string& variant : variants_of(requests[k])) {
            for (const std::string& capsule : capsules_for(requests[k], variant)) {
                jobs.push_back({k, variant, capsule});
            }
        }
    }
    return jobs;
}

/// Appends the gains in dB at one rotation; unset where there is no gain or no solution.
void add_response(Assembly& assembly, double rotation, const std::vector<double>& frequency_hz,
                  std::vector<double>& response_db) {
    if (frequency_hz.empty()) return;
    try {
        Setting& setting = assembly.setting(rotation);
        setting.prepare(frequency_hz);
        for (const double f_hz : frequency_hz) response_db.push_back(gain_db(setting, f_hz));
    } catch (const Error&) {
        response_db.insert(response_db.end(), frequency_hz.size(), unset);
    }
}

/// The response and noise of an unstable circuit mean nothing, even where they meet their limits.
void add_stability_verdict(Assembly& assembly, double rotation, std::vector<Verdict>& verdicts) {
    try {
        const Stability& stability = assembly.setting(rotation).stability();
        if (stability.stable) return;
        Verdict v;
        v.of_limit = false;
        v.limit = "stability";
        v.measure = "stability";
        v.unit = Unit::hertz;
        v.variant = assembly.variant();
        v.capsule = assembly.capsule_name();
        v.knob = assembly.board().knob ? rotation : unset;
        v.value = v.at_hz = stability.grows_hz;
        v.outcome = Outcome::fail;
        v.margin_db = -infinite;  // worse than any limit
        v.reason = instability_text(stability) + ": its other figures mean nothing";
        verdicts.push_back(std::move(v));
    } catch (const Error&) {
        return;  // every figure has the reason
    }
}

/// A circuit without an operating point has no faults; its figures say why.
std::vector<PlacedFault> supply_faults_at(Assembly& assembly, double rotation) {
    try {
        return faults_at(assembly.setting(rotation));
    } catch (const Error&) {
        return {};
    }
}

/// A board whose supply is inadequate does not work, whatever its figures.
Verdict verdict_of(const PlacedFault& placed, Assembly& assembly) {
    Verdict v;
    v.of_limit = false;
    v.limit = v.measure = supply_fault_measure;
    v.variant = assembly.variant();
    v.capsule = assembly.capsule_name();
    v.reason = text_of(placed);
    if (placed.accepted.empty()) {
        v.outcome = Outcome::fail;
        v.margin_db = -infinite;
    } else {
        v.outcome = Outcome::accepted;
        v.reason += "; accepted: " + placed.accepted;
    }
    return v;
}

void move_to_end(std::vector<Figure>&& more, std::vector<Figure>& all) {
    std::move(more.begin(), more.end(), std::back_inserter(all));
}

/// Gains that figures over the whole knob will ask for when the setting is forgotten.
void note_gains(Assembly& assembly, double rotation, const std::set<double>& frequency_hz) {
    try {
        for (const double f_hz : frequency_hz) assembly.gain_at(rotation, f_hz);
    } catch (const Error&) {
        return;  // the figures report it
    }
}

/// One rotation after the other, each forgotten when all that is asked of it is known.
BoardCheck check_assembly_of(const CheckRequest& request, const Job& job) {
    Plans plans;
    if (request.plans) plans = request.plans->at({job.variant, job.capsule});
    Assembly assembly(*request.board, job.variant, job.capsule, plans);
    BoardCheck result;
    LimitCheck limits(assembly, request);
    std::vector<Verdict> unstable;
    const bool own = job.capsule == assembly.board().input.capsule;
    const std::vector<double> rotations = limits.all_rotations();
    const std::size_t positions = assembly.positions().size();
    std::set<double> over_knob_hz = limits.frequencies_over_knob();
    if (own && request.figures && assembly.board().knob) over_knob_hz.insert(reference_hz);
    std::vector<std::vector<PlacedFault>> faults;
    for (std::size_t k = 0; k < rotations.size(); ++k) {
        const double rotation = rotations[k];
        limits.check_at(rotation);
        if (own && k < positions) {
            if (request.stability) add_stability_verdict(assembly, rotation, unstable);
            if (request.stability || request.supply) {
                faults.push_back(supply_faults_at(assembly, rotation));
            }
            if (request.figures) {
                move_to_end(take_figures(assembly, rotation, request.all_figures), result.figures);
            }
            add_response(assembly, rotation, request.response_hz, result.response_db);
        }
        if (k < positions) note_gains(assembly, rotation, over_knob_hz);
        assembly.forget(rotation);
    }
    limits.check_over_knob();
    if (own && request.figures) move_to_end(take_figures_over_knob(assembly), result.figures);
    result.verdicts = limits.verdicts();
    std::move(unstable.begin(), unstable.end(), std::back_inserter(result.verdicts));
    for (PlacedFault& fault : over_positions(faults)) {
        if (request.stability) result.verdicts.push_back(verdict_of(fault, assembly));
        if (fault.accepted.empty()) result.faults.push_back(std::move(fault));
    }
    result.account = assembly.account();
    return result;
}

void add(BoardCheck&& part, BoardCheck& whole) {
    std::move(part.verdicts.begin(), part.verdicts.end(), std::back_inserter(whole.verdicts));
    std::move(part.figures.begin(), part.figures.end(), std::back_inserter(whole.figures));
    std::move(part.faults.begin(), part.faults.end(), std::back_inserter(whole.faults));
    whole.response_db.insert(whole.response_db.end(), part.response_db.begin(),
                             part.response_db.end());
    whole.account.add(part.account);
}

}  // namespace

PlanShelf plans_for(const CheckRequest& request) {
    PlanShelf shelf;
    for (const Job& job : jobs_for({&request, 1})) {
        Assembly assembly(*request.board, job.variant, job.capsule);
        shelf.emplace(std::pair(job.variant, job.capsule), assembly.plans());
    }
    return shelf;
}

BoardCheck check_board(const CheckRequest& request) {
    BoardCheck result;
    for (const Job& job : jobs_for({&request, 1})) add(check_assembly_of(request, job), result);
    return result;
}

std::vector<BoardCheck> check_boards(std::span<const CheckRequest> requests) {
    const std::vector<Job> jobs = jobs_for(requests);
    std::vector<BoardCheck> found(jobs.size());
    on_all_cores(jobs.size(), [&](std::size_t k) {
        found[k] = check_assembly_of(requests[jobs[k].board], jobs[k]);
    });
    std::vector<BoardCheck> results(requests.size());
    for (std::size_t k = 0; k < jobs.size(); ++k) add(std::move(found[k]), results[jobs[k].board]);
    return results;
}

}  // namespace lowhiss
