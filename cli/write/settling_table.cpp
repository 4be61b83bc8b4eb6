#include <algorithm>
#include <cmath>

#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {

bool has_settling(const SweepRun& run) {
    return std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        return std::isfinite(knob.behaviour.switch_on.thump_v);
    });
}

std::string settling_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "thump", "mostly by", "settled after", "slowest time constant"});
    table.heading({"%", "", "", "", ""});
    for (const KnobResult& knob : run.knob) {
        const SwitchOn& on = knob.behaviour.switch_on;
        table.row({rotation_percent(knob), quantity(on.thump_v, Unit::volt),
                   on.part.empty() ? "-" : cut(on.part, 12), quantity(on.settling_s, Unit::second),
                   quantity(on.slowest_s, Unit::second)});
    }
    return table.text() +
           "  assumed: all supplies on at once, capacitors discharged, no clipping at a rail\n";
}

}  // namespace lowhiss::cli
