#include <fmt/format.h>

#include <cmath>

#include "write/bass_words.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr double smallest_bass_loss_db = 0.005;

/// Six columns at most.
std::string short_hz(double hz) {
    return fixed(hz, hz < 9.995 ? 2 : hz < 99.95 ? 1 : 0);
}

bool matters(const Rolloff& rolloff) {
    return rolloff.in_the_way && std::abs(rolloff.loss_db) >= smallest_bass_loss_db;
}

/// The set of parts at the position that loses most, if no single part explains half of the loss.
std::string interaction(const SweepRun& run) {
    const KnobResult* most = nullptr;
    for (const KnobResult& knob : run.knob) {
        const PartBassLoss& loss = knob.bass_loss;
        if (loss.causes.empty() || !(loss.total_db >= smallest_bass_loss_db)) continue;
        if (!most || loss.total_db > most->bass_loss.total_db) most = &knob;
    }
    if (!most || !most->bass_loss.interact()) return "";
    const std::string at =
        std::isnan(most->position) ? "" : fmt::format(", knob {} %", rotation_percent(*most));
    return hanging(fmt::format("  at 20 Hz{}, {}", at, interaction_text(most->bass_loss, 2)), 4);
}

}  // namespace

bool has_bass(const SweepRun& run) {
    return !run.knob.front().rolloff.empty();
}

std::string bass_table(const SweepRun& run) {
    Table table(1);
    table.heading(position_heading(run, {"part"}));
    std::vector<std::string> units{""};
    units.resize(1 + shown_positions(run).size(), "dB    Hz");
    table.heading(units);
    std::vector<std::string> without_loss;
    for (std::size_t part = 0; part < run.knob.front().rolloff.size(); ++part) {
        std::vector<std::string> cells{cut(run.knob.front().rolloff[part].part, 12)};
        bool listed = false;
        for (const std::size_t k : shown_positions(run)) {
            const Rolloff& r = run.knob[k].rolloff[part].rolloff;
            listed = listed || matters(r);
            cells.push_back(
                r.in_the_way ? fmt::format("{} {:>5}", fixed(r.loss_db, 2), short_hz(r.corner_hz))
                             : "-");
        }
        if (listed)
            table.row(std::move(cells));
        else
            without_loss.push_back(cells.front());
    }
    std::string text = table.empty() ? "" : table.text();
    if (!without_loss.empty()) {
        text += wrapped_list("no loss, or under 0.005 dB", without_loss);
    }
    return text + interaction(run);
}

}  // namespace lowhiss::cli
