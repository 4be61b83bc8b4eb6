#include "lowhiss/quantity/decibel.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {

std::string gain_table(const SweepRun& run) {
    Table table(0);
    table.heading(
        {"knob", "gain", "20 Hz", "20 kHz", "low", "high", "Zin", "output", "EIN", "EIN", "NF"});
    table.heading(
        {"", "1 kHz", "re 1k", "re 1k", "-3 dB", "-3 dB", "least", "noise", "", "A-wtd", ""});
    table.heading({"%", "dB", "dB", "dB", "Hz", "Hz", "Ω", "dBu", "dBu", "dBu", "dB"});
    for (const KnobResult& knob : run.knob) {
        const Measures& m = knob.measures;
        table.row({rotation_percent(knob), fixed(m.gain_1khz_db, 1),
                   fixed(m.gain_20hz_db - m.gain_1khz_db, 2),
                   fixed(m.gain_20khz_db - m.gain_1khz_db, 2), compact(m.low_corner_hz),
                   compact(m.high_corner_hz), compact(m.input_impedance_ohm),
                   fixed(dbu_from_v(m.output_noise_v), 1), fixed(m.ein_dbu, 1),
                   fixed(m.ein_a_dbu, 1), fixed(m.noise_figure_db, 1)});
    }
    return table.text();
}

}  // namespace lowhiss::cli
