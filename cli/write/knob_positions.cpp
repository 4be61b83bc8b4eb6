#include "write/knob_positions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_knob_columns = 5;

template <class Better>
const KnobResult& best_by_gain(const SweepRun& run, Better better) {
    const KnobResult* best = &run.knob.front();
    for (const KnobResult& knob : run.knob) {
        const double gain_db = knob.measures.gain_1khz_db;
        const double best_db = best->measures.gain_1khz_db;
        if (std::isnan(best_db) || better(gain_db, best_db)) best = &knob;
    }
    return *best;
}

}  // namespace

const KnobResult& loudest(const SweepRun& run) {
    return best_by_gain(run, std::greater<>());
}

const KnobResult& quietest(const SweepRun& run) {
    return best_by_gain(run, std::less<>());
}

std::vector<std::size_t> shown_positions(const SweepRun& run) {
    const std::size_t count = run.knob.size();
    const std::size_t shown = std::min(count, most_knob_columns);
    std::vector<std::size_t> indices;
    for (std::size_t k = 0; k < shown; ++k) {
        indices.push_back(shown == 1 ? 0 : k * (count - 1) / (shown - 1));
    }
    return indices;
}

std::string rotation_percent(const KnobResult& knob) {
    return std::isfinite(knob.position) ? fmt::format("{:.4g}", 100 * knob.position) : "-";
}

std::vector<std::string> position_heading(const SweepRun& run, std::vector<std::string> cells) {
    for (const std::size_t k : shown_positions(run)) {
        const bool turned = std::isfinite(run.knob[k].position);
        cells.push_back(turned ? rotation_percent(run.knob[k]) + " %" : "-");
    }
    return cells;
}

}  // namespace lowhiss::cli
