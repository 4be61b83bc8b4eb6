#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {

std::string balance_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "plus pin", "minus pin", "rejection", "rejection", "rejection"});
    table.heading({"", "1 kHz", "1 kHz", "50 Hz", "1 kHz", "20 kHz"});
    table.heading({"%", "Ω", "Ω", "dB", "dB", "dB"});
    for (const KnobResult& knob : run.knob) {
        const Behaviour& b = knob.behaviour;
        table.row({rotation_percent(knob), compact(b.pins.plus_ohm), compact(b.pins.minus_ohm),
                   fixed(b.balance_db[0], 1), fixed(b.balance_db[1], 1),
                   fixed(b.balance_db[2], 1)});
    }
    return table.text() +
           "  rejection of a voltage between the grounds by a receiver of 10 kΩ from one\n"
           "  input to its ground and 11 kΩ from the other, the worse way round\n";
}

}  // namespace lowhiss::cli
