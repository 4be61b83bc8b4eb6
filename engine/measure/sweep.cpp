#include "lowhiss/measure/sweep.hpp"

#include <spdlog/logger.h>

#include <algorithm>

#include "lowhiss/measure/jobs.hpp"
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
    Plans plans;
};

/// Refuses an assembly that its graph says has no unique solution; keeps warnings, each once.
void check(const Board& assembled, const Capsule* capsule, const std::vector<double>& rotations,
           Diagnostics& warnings) {
    Diagnostics findings = check_assembly(assembled, capsule, rotations);
    if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, std::move(findings));
    for (Diagnostic& d : findings) {
        const auto same = [&](const Diagnostic& other) { return to_text(other) == to_text(d); };
        if (std::none_of(warnings.begin(), warnings.end(), same)) warnings.push_back(std::move(d));
    }
}

}  // namespace

Sweep sweep(const Board& board, const SweepRequest& request, spdlog::logger& log) {
    Sweep result{
        board.name, board.revision, board.temperature_k, request.band, request.frequency_hz, {},
        {}};
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
            check(made, model, positions, result.warnings);
            const Plans plans = make_plans(made, model);
            for (std::size_t k = 0; k < positions.size(); ++k) {
                jobs.push_back({result.runs.size(), k, &made, model, positions[k], plans});
            }
            result.runs.push_back({name, variant ? variant->summary : "", capsule, {}});
            result.runs.back().knob.resize(positions.size());
        }
    }
    log.debug("{} knob positions to solve", jobs.size());
    on_all_cores(jobs.size(), [&](std::size_t k) {
        const Job& job = jobs[k];
        result.runs[job.run].knob[job.knob] =
            solve_position(*job.assembled, job.capsule, job.rotation, job.plans, request);
    });
    return result;
}

}  // namespace lowhiss
