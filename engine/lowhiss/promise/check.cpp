#include "lowhiss/promise/check.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/promise/limit_check.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

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

/// The response and noise of an unstable circuit mean nothing, even where they meet their limits,
/// and a circuit that is too large for the search may be one. Without a controlled source it is
/// stable.
void add_stability_verdict(Assembly& assembly, double rotation, std::vector<Verdict>& verdicts) {
    try {
        const Stability& stability = assembly.setting(rotation).stability();
        if (stability.stable && (stability.known || stability.loops.empty())) return;
        Verdict v;
        v.of_limit = false;
        v.limit = "stability";
        v.measure = "stability";
        v.unit = Unit::hertz;
        v.variant = assembly.variant();
        v.capsule = assembly.capsule_name();
        v.knob = assembly.board().knob ? rotation : unset;
        v.value = v.at_hz = stability.grows_hz;
        v.outcome = stability.stable ? Outcome::not_computed : Outcome::fail;
        v.margin_db = -infinite;  // worse than any limit
        v.reason = stability.stable
                       ? "not known: the circuit has too many unknowns"
                       : instability_text(stability) + ": its other figures are not valid";
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

/// Keeps the gains that figures over the whole knob need after the setting is forgotten.
void note_gains(Assembly& assembly, double rotation, const std::set<double>& frequency_hz) {
    try {
        for (const double f_hz : frequency_hz) assembly.gain_at(rotation, f_hz);
    } catch (const Error&) {
        return;  // the figures report it
    }
}

/// One rotation after the other; each setting is forgotten when all of its figures are known.
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
        if (request.stability) add_stability_verdict(assembly, rotation, unstable);
        if (own && k < positions) {
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
