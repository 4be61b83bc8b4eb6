#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/decibel.hpp"
#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t at_1khz = 1;  ///< in headroom_hz

std::string input_level(const Headroom& h) {
    return fixed(dbu_from_v(h.input_v), 1) + (h.slews ? "*" : "");
}

std::string limiting_part(const Headroom& h) {
    return h.part.empty() ? "-" : cut(h.part, 8);
}

/// Amplifiers that limit at 20 Hz or 20 kHz but not at 1 kHz: "limited at 20 kHz: U2 (knob 50 %)".
std::string other_limits(const SweepRun& run) {
    std::string text;
    for (std::size_t k = 0; k < headroom_hz.size(); ++k) {
        std::vector<std::string> places;
        for (const KnobResult& knob : run.knob) {
            const auto& headroom = knob.behaviour.headroom;
            if (headroom[k].part.empty() || headroom[k].part == headroom[at_1khz].part) continue;
            places.push_back(
                std::isnan(knob.position)
                    ? headroom[k].part
                    : fmt::format("{} (knob {} %)", headroom[k].part, rotation_percent(knob)));
        }
        if (places.empty()) continue;
        text += wrapped_list("limited at " + print_quantity(headroom_hz[k], Unit::hertz), places);
    }
    return text;
}

}  // namespace

bool has_headroom(const SweepRun& run) {
    return std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        const auto& headroom = knob.behaviour.headroom;
        return std::any_of(headroom.begin(), headroom.end(),
                           [](const Headroom& h) { return std::isfinite(h.input_v); });
    });
}

std::string headroom_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "max in", "limited", "max in", "max in", "max out", "max SPL", "self-",
                   "dynamic"});
    table.heading({"", "1 kHz", "by", "20 Hz", "20 kHz", "1 kHz", "1 kHz", "noise", "range"});
    table.heading({"%", "dBu", "", "dBu", "dBu", "dBu", "dB SPL", "dB(A) SPL", "dB(A)"});
    bool slews = false;
    for (const KnobResult& knob : run.knob) {
        const Behaviour& b = knob.behaviour;
        slews = slews || std::any_of(b.headroom.begin(), b.headroom.end(),
                                     [](const Headroom& h) { return h.slews; });
        const auto best = [&](std::string cell, std::string_view measure) {
            return marked(std::move(cell), at_best(knob.assumes_ideal, {measure}));
        };
        table.row({rotation_percent(knob), best(input_level(b.headroom[at_1khz]), "max_input"),
                   limiting_part(b.headroom[at_1khz]),
                   best(input_level(b.headroom[0]), "max_input"),
                   best(input_level(b.headroom[2]), "max_input"),
                   best(fixed(dbu_from_v(b.headroom[at_1khz].output_v), 1), "max_output"),
                   best(fixed(b.max_spl_db, 1), "max_spl"),
                   best(fixed(b.self_noise_db_spl, 1), "self_noise"),
                   best(fixed(b.dynamic_range_db, 1), "dynamic_range")});
    }
    return table.text() + (slews ? "  * limited by slew rate\n" : "") + other_limits(run) +
           best_case_note(run,
                          {"max_input", "max_output", "max_spl", "self_noise", "dynamic_range"});
}

}  // namespace lowhiss::cli
