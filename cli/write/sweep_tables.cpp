#include "write/sweep_tables.hpp"

#include <algorithm>
#include <array>

#include "write/run_tables.hpp"

namespace lowhiss::cli {
namespace {

bool always(const SweepRun&) {
    return true;
}

bool has_noise(const SweepRun& run) {
    return !run.knob.front().noise_by_part.empty();
}

constexpr std::array tables{
    SweepTable{"gain", "Gain, bandwidth and noise", true, "", always, gain_table},
    SweepTable{"noise", "Noise by part: % of output noise power", true, "no part is noisy",
               has_noise, noise_table},
    SweepTable{"bass", "Bass: loss by part at 20 Hz, and its corner alone", true,
               "no capacitor, inductor or transformer", has_bass, bass_table},
    SweepTable{"capsule", "Capsule: effect of its impedance on level and noise", false,
               "ideal source, without impedance", has_capsule, capsule_table},
    SweepTable{"source", "Noise against source resistance", false,
               "the circuit has no solution with a resistance in place of the capsule", has_source,
               source_table},
    SweepTable{"headroom", "Headroom: largest sine before an amplifier clips or slews", false,
               "no amplifier with supply pins", has_headroom, headroom_table},
    SweepTable{"distortion", "Distortion: harmonics of a sine at the output", false,
               "no part of the board has a distortion model", has_distortion, distortion_table},
    SweepTable{"output", "Output: impedance, loss into a load, and level", false, "", always,
               output_table},
    SweepTable{"balance",
               "Output balance: impedance of each pin to ground, and rejection by a receiver",
               false, "", always, balance_table},
    SweepTable{"settling", "Switching on: thump at the output, and time to decay to 1 % of it",
               false, "no supply on the board", has_settling, settling_table},
    SweepTable{"stability", "Stability: least stable loop, and the natural frequency of highest Q",
               false, "no feedback loop and no natural frequency", has_stability, stability_table},
    SweepTable{"cmrr", "CMRR", false,
               "an input terminal is ground, or no common mode reaches the output", has_cmrr,
               cmrr_table},
    SweepTable{"psrr", "Supply rejection", false, "no supply on the board", has_psrr, psrr_table},
    SweepTable{"ripple", "Ripple at the output, and referred to the input", false,
               "no ripple defined", has_ripple, ripple_table},
    SweepTable{"radio", "Radio: attenuation from a 150 Ω source to an amplifier's input", false,
               "no amplifier input behind passive parts", has_radio, radio_table},
};

}  // namespace

std::span<const SweepTable> sweep_tables() {
    return tables;
}

std::vector<std::string> sweep_table_names() {
    std::vector<std::string> names;
    names.reserve(std::size(tables) + 1);
    for (const SweepTable& table : tables) names.emplace_back(table.name);
    names.emplace_back("all");
    return names;
}

bool TableChoice::asks_for(const SweepTable& table) const {
    return std::find(names.begin(), names.end(), table.name) != names.end();
}

bool TableChoice::shows(const SweepTable& table) const {
    if (all) return true;
    return names.empty() ? table.standard : asks_for(table);
}

TableChoice table_choice(const std::vector<std::string>& names) {
    const bool all = std::find(names.begin(), names.end(), "all") != names.end();
    return {all, names};
}

}  // namespace lowhiss::cli
