#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {

/// True also if it was not computed, so that the last line of a sweep lists the table.
bool has_source(const SweepRun& run) {
    return std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        return !knob.source || std::isfinite(knob.source->at_1khz.voltage_v_rthz);
    });
}

std::string source_table(const SweepRun& run) {
    Table table(0);
    std::vector<std::string> heading{"knob", "en", "in", "corr.", "best", "NF"};
    std::vector<std::string> units{"%", "nV/√Hz", "pA/√Hz", "", "source", "there"};
    for (const auto& [ohm, db] : run.knob.front().source->noise_figure_db) {
        heading.emplace_back("NF of");
        units.push_back(print_quantity(ohm, Unit::ohm, 3));
    }
    table.heading(std::move(heading));
    table.heading(std::move(units));
    for (const KnobResult& knob : run.knob) {
        const SourceNoise& source = *knob.source;
        const auto in_units = [&](double value, std::string_view measure) {
            const std::string text = std::isnan(value) ? "-" : fmt::format("{:.3g}", value);
            return marked(text, at_best(knob.assumes_ideal, {measure}));
        };
        std::vector<std::string> cells{
            rotation_percent(knob),
            in_units(1e9 * source.at_1khz.voltage_v_rthz, "input_voltage_noise"),
            in_units(1e12 * source.at_1khz.current_a_rthz, "input_current_noise"),
            fixed(source.at_1khz.correlation, 2),
            quantity(source.best.resistance_ohm, Unit::ohm),
            fixed(source.best.noise_figure_db, 1)};
        for (const auto& [ohm, db] : source.noise_figure_db) {
            cells.push_back(marked(fixed(db, 1), at_best(knob.assumes_ideal, {"noise_figure_at"})));
        }
        table.row(std::move(cells));
    }
    std::string text = table.text();
    text += hanging(
        "  with a resistor in place of the capsule. en, in: the board's own noise at its input at "
        "1 kHz; corr.: their correlation; best source: the resistance with the lowest NF; NF: "
        "noise figure from 20 Hz to 20 kHz, in dB",
        4);
    return text +
           best_case_note(run, {"input_voltage_noise", "input_current_noise", "noise_figure_at"});
}

}  // namespace lowhiss::cli
