#include <algorithm>
#include <cmath>

#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

// Nominal levels of usual inputs. Common practice, no source.
constexpr double camera_dbu = -40;
constexpr double recorder_dbu = -7.78;  // -10 dBV
constexpr double line_dbu = 4;
constexpr double one_pascal_db_spl = 93.979400086720376;  // re 20 uPa

/// The sound pressure level at which the output reaches a level.
std::string spl_at(const Behaviour& b, double level_dbu) {
    return fixed(one_pascal_db_spl + level_dbu - b.output_level_dbu, 0);
}

void append(std::vector<std::string>& cells, std::vector<std::string> more) {
    std::move(more.begin(), more.end(), std::back_inserter(cells));
}

}  // namespace

std::string output_table(const SweepRun& run) {
    const bool sensitive = std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& k) {
        return std::isfinite(k.behaviour.output_level_dbu);
    });
    Table table(0);
    std::vector<std::string> what{"knob", "Zout", "600 Ω", "10 kΩ", "10 nF"};
    std::vector<std::string> where{"", "max", "1 kHz", "1 kHz", "20 kHz"};
    std::vector<std::string> unit{"%", "Ω", "dB", "dB", "dB"};
    if (sensitive) {
        append(what, {"1 Pa", "camera", "recorder", "line"});
        append(where, {"1 kHz", "-40 dBu", "-10 dBV", "+4 dBu"});
        append(unit, {"dBu", "dB SPL", "dB SPL", "dB SPL"});
    }
    table.heading(what);
    table.heading(where);
    table.heading(unit);
    for (const KnobResult& knob : run.knob) {
        const Behaviour& b = knob.behaviour;
        const auto best = [&](std::string cell) {
            return marked(std::move(cell), at_best(knob.assumes_ideal, {"output_impedance"}));
        };
        std::vector<std::string> cells{rotation_percent(knob),
                                       best(compact(knob.measures.output_impedance_ohm)),
                                       best(fixed(b.loss_db[0], 1)), best(fixed(b.loss_db[2], 1)),
                                       best(fixed(b.cable_loss_db, 1))};
        if (sensitive) {
            append(cells, {fixed(b.output_level_dbu, 1), spl_at(b, camera_dbu),
                           spl_at(b, recorder_dbu), spl_at(b, line_dbu)});
        }
        table.row(std::move(cells));
    }
    std::string text = table.text() +
                       "  Zout: output impedance, highest from 20 Hz to 20 kHz\n"
                       "  600 Ω, 10 kΩ, 10 nF: loss into that load\n";
    if (sensitive) {
        text +=
            "  1 Pa: output level; camera, recorder, line: SPL that gives their nominal level\n";
    }
    return text + best_case_note(run, {"output_impedance"});
}

}  // namespace lowhiss::cli
