#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

std::string quality(double q) {
    return std::isfinite(q) ? print_quantity(q, Unit::number, 3) : "-";
}

/// The least of all loops, as the measure has it; the least phase margin may be another loop's.
double least_gain_margin_db(const Stability& s) {
    double least_db = unset;
    for (const LoopMargins& loop : s.loops) least_db = std::fmin(least_db, loop.gain_margin_db);
    return least_db;
}

void add_stability_row(const std::string& knob, const std::string& cable, const Stability& s,
                       const std::vector<AssumedIdeal>& assumed, Table& table) {
    std::vector<std::string> cells{knob, cable, "-", "-", "-", "-", "-", "-"};
    if (const LoopMargins* loop = s.worst_loop()) {
        const auto index = static_cast<std::size_t>(loop - s.loops.data());
        cells[2] = cut(s.loop_parts[index], 8);
        cells[3] = compact(loop->crossover_hz);
        cells[4] = marked(fixed(loop->phase_margin_deg, 0), at_best(assumed, {"phase_margin"}));
        cells[5] = marked(fixed(least_gain_margin_db(s), 1), at_best(assumed, {"gain_margin"}));
    }
    if (const NaturalMode* mode = s.sharpest()) {
        cells[6] = compact(mode->frequency_hz);
        cells[7] = marked(quality(mode->q), at_best(assumed, {"mode_q"}));
    }
    if (!s.stable) {
        cells[6] = compact(s.grows_hz);
        cells[7] = s.latches ? "LATCHES" : "UNSTABLE";
    }
    table.row(std::move(cells));
}

}  // namespace

bool has_stability(const SweepRun& run) {
    return std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        const Stability& s = knob.behaviour.stability;
        return !s.known || !s.stable || !s.loops.empty() || !s.modes.empty();
    });
}

std::string stability_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "cable", "loop", "crossover", "phase", "gain", "natural", "Q"});
    table.heading({"", "", "", "frequency", "margin", "margin", "frequency", ""});
    table.heading({"%", "", "", "Hz", "deg", "dB", "Hz", ""});
    std::vector<AssumedIdeal> all;
    for (const KnobResult& knob : run.knob) {
        add_stability_row(rotation_percent(knob), "as drawn", knob.behaviour.stability,
                          knob.assumes_ideal, table);
        for (const CableStability& cable : knob.behaviour.cables) {
            add_stability_row("", print_quantity(cable.cable_f, Unit::farad, 3), cable.stability,
                              cable.assumes_ideal, table);
            all.insert(all.end(), cable.assumes_ideal.begin(), cable.assumes_ideal.end());
        }
        all.insert(all.end(), knob.assumes_ideal.begin(), knob.assumes_ideal.end());
    }
    return table.text() +
           "  loop: least phase margin; gain margin: least of all loops; natural frequency:\n"
           "    highest Q above 20 kHz\n" +
           best_case_note(all, {"phase_margin", "gain_margin", "mode_q"});
}

}  // namespace lowhiss::cli
