#include "lowhiss/sweep/sweep.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/sweep/solve_position.hpp"
#include "lowhiss/topology/check.hpp"

namespace lowhiss {
namespace {

/// One knob position of one run: where its result goes, and what it is solved from.
struct PositionJob {
    std::size_t run;
    std::size_t knob;
    const Board* assembled;
    const Capsule* capsule;
    double rotation;
    Plans plans;
    std::unique_ptr<Setting> setting;  ///< if the run was planned from it
};

/// The settings that a run is planned from, by rotation.
using Samples = std::map<double, std::unique_ptr<Setting>>;

Samples samples_of(const Board& assembled, const Capsule* capsule) {
    Samples samples;
    for (const double rotation : planned_rotations(assembled)) {
        samples[rotation] = std::make_unique<Setting>(assembled, capsule, rotation);
    }
    return samples;
}

Plans plan_from(const Samples& samples, const Board& assembled) {
    std::vector<Setting*> settings;
    for (const double rotation : planned_rotations(assembled)) {
        settings.push_back(samples.at(rotation).get());
    }
    Plans plans = make_plans(settings);
    for (Setting* setting : settings) setting->use(plans);
    return plans;
}

bool same_finding(const Diagnostic& a, const Diagnostic& b) {
    return a.code == b.code && a.subject == b.subject && a.found == b.found &&
           a.at.source == b.at.source && a.at.line == b.at.line && a.at.column == b.at.column;
}

/// Refuses an assembly if its graph says that it has no unique solution; keeps warnings, each once.
void check(const Board& assembled, const Capsule* capsule, const std::vector<double>& rotations,
           Diagnostics& warnings) {
    Diagnostics findings = check_assembly(assembled, capsule, rotations);
    if (has_errors(findings)) throw Error(Error::Kind::no_unique_solution, std::move(findings));
    for (Diagnostic& d : findings) {
        const auto same = [&](const Diagnostic& other) { return same_finding(other, d); };
        if (std::none_of(warnings.begin(), warnings.end(), same)) warnings.push_back(std::move(d));
    }
}

/// All results are held in memory until the last is there; meanwhile each core holds every noise
/// source's share at every frequency.
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

Sweep sweep(const Board& board, const SweepRequest& request) {
    Sweep result{
        board.name, board.revision, board.temperature_k, request.band, request.frequency_hz, {},
        {},         board.set};
    const std::vector<std::string> plain{""};
    const auto& variants = request.variants.empty() ? plain : request.variants;
    std::vector<std::unique_ptr<const Board>> assembled;
    std::vector<PositionJob> jobs;
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
            Samples samples = samples_of(made, model);
            const Plans plans = plan_from(samples, made);
            for (std::size_t k = 0; k < positions.size(); ++k) {
                const auto sample = samples.find(positions[k]);
                jobs.push_back({result.runs.size(), k, &made, model, positions[k], plans,
                                sample == samples.end() ? nullptr : std::move(sample->second)});
            }
            result.runs.push_back({name, variant ? variant->summary : "", capsule, {}});
            result.runs.back().knob.resize(positions.size());
        }
    }
    on_all_cores(jobs.size(), [&](std::size_t k) {
        PositionJob& job = jobs[k];
        std::unique_ptr<Setting> setting = std::move(job.setting);
        if (!setting) {
            setting =
                std::make_unique<Setting>(*job.assembled, job.capsule, job.rotation, job.plans);
        }
        result.runs[job.run].knob[job.knob] = solve_position(*setting, request);
    });
    return result;
}

}  // namespace lowhiss
