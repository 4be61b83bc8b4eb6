#include "lowhiss/measure/sweep.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <atomic>
#include <exception>
#include <thread>

#include "lowhiss/board/nearest.hpp"
#include "lowhiss/topology/check.hpp"

namespace lowhiss {
namespace {

/// One knob position of one run: where it goes, and what it is solved from.
struct Job {
    std::size_t run;
    std::size_t knob;
    const Board* assembled;
    const Capsule* capsule;
    double rotation;
};

[[noreturn]] void refuse_name(std::string_view what, const std::string& name,
                              const std::vector<std::string>& known) {
    Diagnostic d;
    d.code = fmt::format("unknown-{}", what);
    d.found = fmt::format("the board has no {} '{}'", what, name);
    d.accepted = known.empty() ? fmt::format("none: the board has no {}", what) : listed(known);
    d.advice = did_you_mean(name, known);
    throw Error(Error::Kind::unusable_input, {d});
}

const Variant* variant_named(const Board& board, const std::string& name) {
    if (name.empty()) return nullptr;
    if (const Variant* variant = find_variant(board, name)) return variant;
    std::vector<std::string> known;
    for (const Variant& variant : board.variants) known.push_back(variant.name);
    refuse_name("variant", name, known);
}

const Capsule* capsule_named(const Board& board, const std::string& name) {
    if (name.empty()) return nullptr;
    const auto found = board.models.capsules.find(name);
    if (found != board.models.capsules.end()) return &found->second;
    std::vector<std::string> known;
    for (const auto& [capsule, model] : board.models.capsules) known.push_back(capsule);
    refuse_name("capsule", name, known);
}

/// Refuses a circuit that its graph says has no unique solution; passes warnings on.
void check(const Board& assembled, const Capsule* capsule, double rotation, spdlog::logger& log) {
    Diagnostics errors;
    for (Diagnostic& d : check_topology(assembled, build_circuit(assembled, rotation, capsule))) {
        if (d.severity == Severity::error)
            errors.push_back(std::move(d));
        else
            log.warn("{}", to_text(d));
    }
    if (!errors.empty()) throw Error(Error::Kind::no_unique_solution, std::move(errors));
}

/// Does the jobs on all cores. The first failure in the order of jobs is the one that is thrown.
void do_jobs(const std::vector<Job>& jobs, const SweepRequest& request, Sweep& result) {
    std::vector<std::exception_ptr> failures(jobs.size());
    std::atomic<std::size_t> next{0};
    const auto work = [&] {
        for (std::size_t k = next++; k < jobs.size(); k = next++) {
            const Job& job = jobs[k];
            try {
                result.runs[job.run].knob[job.knob] =
                    solve_position(*job.assembled, job.capsule, job.rotation, request);
            } catch (...) {
                failures[k] = std::current_exception();
            }
        }
    };
    const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
    std::vector<std::jthread> helpers;
    for (std::size_t k = 1; k < std::min(cores, jobs.size()); ++k) helpers.emplace_back(work);
    work();
    helpers.clear();
    for (const std::exception_ptr& failure : failures) {
        if (failure) std::rethrow_exception(failure);
    }
}

}  // namespace

Sweep sweep(const Board& board, const SweepRequest& request, spdlog::logger& log) {
    Sweep result{board.name,   board.revision,       board.temperature_k,
                 request.band, request.frequency_hz, {}};
    const std::vector<std::string> plain{""};
    const auto& variants = request.variants.empty() ? plain : request.variants;
    std::vector<std::unique_ptr<const Board>> assembled;
    std::vector<Job> jobs;
    for (const std::string& name : variants) {
        const Variant* variant = variant_named(board, name);
        assembled.push_back(std::make_unique<const Board>(with_variant(board, variant)));
        const Board& made = *assembled.back();
        const std::vector<std::string> own{made.input.capsule};
        std::vector<double> positions = made.knob ? made.knob->positions : std::vector<double>{0};
        if (made.knob && !request.knob.empty()) positions = request.knob;
        for (const std::string& capsule : request.capsules.empty() ? own : request.capsules) {
            const Capsule* model = capsule_named(board, capsule);
            check(made, model, positions.front(), log);
            for (std::size_t k = 0; k < positions.size(); ++k) {
                jobs.push_back({result.runs.size(), k, &made, model, positions[k]});
            }
            result.runs.push_back({name, variant ? variant->summary : "", capsule, {}});
            result.runs.back().knob.resize(positions.size());
        }
    }
    do_jobs(jobs, request, result);
    return result;
}

}  // namespace lowhiss
