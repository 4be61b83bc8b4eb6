#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {

bool has_capsule(const SweepRun& run) {
    return !run.capsule.empty();
}

std::string capsule_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "level", "level", "level", "output"});
    table.heading({"", "20 Hz", "1 kHz", "20 kHz", "noise"});
    table.heading({"%", "dB", "dB", "dB", "dB"});
    for (const KnobResult& knob : run.knob) {
        const Measures& m = knob.measures;
        table.row({rotation_percent(knob), fixed(m.capsule_effect_20hz_db, 2),
                   fixed(m.capsule_effect_1khz_db, 2), fixed(m.capsule_effect_20khz_db, 2),
                   marked(fixed(m.capsule_noise_rise_db, 2),
                          at_best(knob.assumes_ideal, {"capsule_noise_rise"}))});
    }
    return table.text() + "  relative to an ideal source of the same electromotive force\n" +
           best_case_note(run, {"capsule_noise_rise"});
}

}  // namespace lowhiss::cli
