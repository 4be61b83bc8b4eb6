#include "write/sweep_csv.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "shell/names.hpp"

namespace lowhiss::cli {
namespace {

struct Column {
    const char* heading;
    std::vector<double> KnobResult::*values;
};

constexpr std::array csv_columns{
    Column{"gain_db", &KnobResult::gain_db},
    Column{"phase_deg", &KnobResult::phase_deg},
    Column{"group_delay_s", &KnobResult::group_delay_s},
    Column{"gain_from_terminals_db", &KnobResult::gain_from_terminals_db},
    Column{"capsule_effect_db", &KnobResult::capsule_effect_db},
    Column{"input_impedance_ohm", &KnobResult::input_impedance_ohm},
    Column{"input_impedance_deg", &KnobResult::input_impedance_deg},
    Column{"output_noise_v_rthz", &KnobResult::output_noise_v_rthz},
    Column{"input_noise_v_rthz", &KnobResult::input_noise_v_rthz},
};

std::string number(double value) {
    return std::isfinite(value) ? fmt::format("{}", value) : "";
}

}  // namespace

std::string sweep_csv(const Sweep& sweep) {
    std::string text = "board,revision,variant,capsule,knob,frequency_hz";
    for (const Column& column : csv_columns) text += fmt::format(",{}", column.heading);
    text += "\r\n";
    for (const SweepRun& run : sweep.runs) {
        const std::string assembly =
            fmt::format("{},{},{},{}", for_csv(sweep.board), for_csv(sweep.revision),
                        for_csv(run.variant), for_csv(run.capsule));
        for (const KnobResult& knob : run.knob) {
            for (std::size_t k = 0; k < sweep.frequency_hz.size(); ++k) {
                text += fmt::format("{},{},{}", assembly, number(knob.position),
                                    number(sweep.frequency_hz[k]));
                for (const Column& column : csv_columns) {
                    text += "," + number((knob.*column.values)[k]);
                }
                text += "\r\n";
            }
        }
    }
    return text;
}

}  // namespace lowhiss::cli
