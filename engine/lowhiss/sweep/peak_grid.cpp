#include "lowhiss/sweep/peak_grid.hpp"

#include <algorithm>
#include <memory>

#include "lowhiss/measure/jobs.hpp"
#include "lowhiss/measure/peaks.hpp"
#include "lowhiss/measure/setting.hpp"

namespace lowhiss {
namespace {

constexpr double most_points = 1e5;      ///< of all positions together
constexpr double nearest_flanks = 3e-3;  ///< a third of a pixel of a page's picture

/// One curve whose peaks are looked for.
struct PeakJob {
    const Board* assembled;
    const Capsule* capsule;
    double rotation;
    Peaks found{};
};

}  // namespace

void merge_frequencies(std::vector<double>& grid_hz, std::span<const double> added_hz,
                       double nearest) {
    for (const double f_hz : added_hz) {
        const auto at = std::lower_bound(grid_hz.begin(), grid_hz.end(), f_hz * (1 - nearest));
        if (at == grid_hz.end() || *at > f_hz * (1 + nearest)) grid_hz.insert(at, f_hz);
    }
}

std::vector<double> grid_with_peaks(const Board& board, const SweepRequest& request) {
    const std::vector<std::string> plain{""};
    std::vector<std::unique_ptr<const Board>> assembled;
    std::vector<PeakJob> jobs;
    for (const std::string& name : request.variants.empty() ? plain : request.variants) {
        const Variant* variant = variant_named(board, name);
        assembled.push_back(std::make_unique<const Board>(with_variant(board, variant)));
        const Board& made = *assembled.back();
        const std::vector<std::string> own{made.input.capsule};
        std::vector<double> positions = made.knob ? made.knob->positions : std::vector<double>{0};
        if (made.knob && !request.knob.empty()) positions = request.knob;
        for (const std::string& capsule : request.capsules.empty() ? own : request.capsules) {
            for (const double rotation : positions) {
                jobs.push_back({&made, capsule_named(board, capsule), rotation});
            }
        }
    }
    std::vector<double> grid_hz = request.frequency_hz;
    if (static_cast<double>(jobs.size()) * static_cast<double>(grid_hz.size()) > most_points) {
        return grid_hz;
    }
    on_all_cores(jobs.size(), [&](std::size_t k) {
        PeakJob& job = jobs[k];
        try {
            Setting setting(*job.assembled, job.capsule, job.rotation);
            job.found = peaks_beside(setting, request.frequency_hz);
        } catch (const Error&) {
            job.found = {};  // the sweep itself says what is wrong
        }
    });
    for (const PeakJob& job : jobs) merge_frequencies(grid_hz, job.found.top_hz);
    for (const PeakJob& job : jobs) merge_frequencies(grid_hz, job.found.flank_hz, nearest_flanks);
    return grid_hz;
}

}  // namespace lowhiss
