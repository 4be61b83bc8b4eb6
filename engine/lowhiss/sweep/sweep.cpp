#include "lowhiss/sweep/sweep.hpp"

#include <fmt/format.h>
#include <spdlog/logger.h>

#include <algorithm>
#include <cmath>

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

/// Results are held until all are there, and each core holds every noise source's share at every
/// frequency meanwhile.
void reject_too_many(const Board& board, std::size_t positions, std::size_t frequencies) {
    constexpr double most_numbers = 5e6;  // 0.7 GB when they are written as JSON
    constexpr double curves = 12;
    constexpr double figures = 1000;
    const auto grid = static_cast<double>(frequencies);
    const auto parts = static_cast<double>(board.parts.size());
    const double numbers =
        static_cast<double>(positions) * (curves * grid + figures + parts) + 4 * parts * grid;
    if (numbers <= most_numbers) return;
    Diagnostic d;
    d.code = "sweep-too-large";
    d.subject = "the sweep";
    d.found = fmt::format(
        "{} knob positions of all assemblies at {} frequencies, of {} parts, are "
        "{:.0f} million numbers",
        positions, frequencies, board.parts.size(), std::ceil(numbers / 1e6));
    d.accepted = fmt::format("up to {:.0f} million", most_numbers / 1e6);
    d.advice = "take fewer frequencies, knob positions, variants or capsules in one sweep";
    throw Error(Error::Kind::unusable_input, {d});
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
            reject_too_many(board, jobs.size() + positions.size(), request.frequency_hz.size());
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
