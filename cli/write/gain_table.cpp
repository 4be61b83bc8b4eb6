#include "lowhiss/quantity/decibel.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {

std::string gain_table(const SweepRun& run) {
    Table table(0);
    table.heading(
        {"knob", "gain", "20 Hz", "20 kHz", "low", "high", "Zin", "output", "EIN", "EIN", "NF"});
    table.heading(
        {"", "1 kHz", "re 1k", "re 1k", "-3 dB", "-3 dB", "min", "noise", "", "A-wtd", ""});
    table.heading({"%", "dB", "dB", "dB", "Hz", "Hz", "Ω", "dBu", "dBu", "dBu", "dB"});
    for (const KnobResult& knob : run.knob) {
        const Measures& m = knob.measures;
        const auto best = [&](std::string_view measure) {
            return at_best(knob.assumes_ideal, {measure});
        };
        table.row(
            {rotation_percent(knob), fixed(m.gain_1khz_db, 1),
             fixed(m.gain_20hz_db - m.gain_1khz_db, 2), fixed(m.gain_20khz_db - m.gain_1khz_db, 2),
             compact(m.low_corner_hz), marked(compact(m.high_corner_hz), best("high_corner")),
             compact(m.input_impedance_ohm),
             marked(fixed(dbu_from_v(m.output_noise_v), 1), best("output_noise")),
             marked(fixed(m.ein_dbu, 1), best("ein")), marked(fixed(m.ein_a_dbu, 1), best("ein_a")),
             marked(fixed(m.noise_figure_db, 1), best("noise_figure"))});
    }
    return table.text() +
           best_case_note(run, {"high_corner", "output_noise", "ein", "ein_a", "noise_figure"});
}

}  // namespace lowhiss::cli
