#include "write/sweep_summary.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr double minus_3_db = 3.0102999566398120;  ///< the loss at a corner

std::string summary_line(std::string_view label, const std::string& words) {
    return hanging(fmt::format("  {:<9}  {}", label, words), 13);
}

/// " (knob 25 %)", or nothing without a knob.
std::string at_knob(const KnobResult& knob) {
    return std::isnan(knob.position) ? "" : fmt::format(" (knob {} %)", rotation_percent(knob));
}

/// Whether an unstable circuit oscillates; else its growing pole is real.
bool oscillates(const Stability& s) {
    return std::any_of(s.modes.begin(), s.modes.end(), [&](const NaturalMode& mode) {
        return mode.q < 0 && std::abs(mode.frequency_hz / s.grows_hz - 1) < 1e-6;
    });
}

constexpr std::string_view latch_words = "LATCHES UP by a growing real pole at";

std::string unstable_text(const Stability& s) {
    return fmt::format("{} {}", oscillates(s) ? "OSCILLATES at" : latch_words,
                       frequency_text(s.grows_hz));
}

/// The knob positions at which the board as drawn is unstable.
std::string oscillation_alarms(const SweepRun& run) {
    std::vector<std::string> oscillating;
    std::vector<std::string> latching;
    for (const KnobResult& knob : run.knob) {
        const Stability& s = knob.behaviour.stability;
        if (s.stable) continue;
        (oscillates(s) ? oscillating : latching)
            .push_back(frequency_text(s.grows_hz) + at_knob(knob));
    }
    if (oscillating.empty() && latching.empty()) return "";
    std::string text;
    if (!oscillating.empty()) {
        text +=
            summary_line("ALARM", fmt::format("OSCILLATES at {}", fmt::join(oscillating, ", ")));
    }
    if (!latching.empty()) {
        text += summary_line("ALARM", fmt::format("{} {}", latch_words, fmt::join(latching, ", ")));
    }
    return text + summary_line("", "No figure holds where the circuit is unstable.");
}

/// The first unstable knob position of each cable.
std::string cable_alarms(const SweepRun& run) {
    std::string text;
    for (std::size_t k = 0; k < run.knob.front().behaviour.cables.size(); ++k) {
        const auto first = std::find_if(
            run.knob.begin(), run.knob.end(),
            [&](const KnobResult& knob) { return !knob.behaviour.cables[k].stability.stable; });
        if (first == run.knob.end() || !first->behaviour.stability.stable) continue;
        const CableStability& cable = first->behaviour.cables[k];
        text += summary_line(
            "ALARM", fmt::format("{} with {} at the output{}", unstable_text(cable.stability),
                                 print_quantity(cable.cable_f, Unit::farad, 3), at_knob(*first)));
    }
    return text;
}

std::vector<PlacedFault> supply_faults(const SweepRun& run) {
    std::vector<std::vector<PlacedFault>> positions;
    for (const KnobResult& knob : run.knob) positions.push_back(knob.behaviour.supply_faults);
    return over_positions(positions);
}

/// Each fault of each part once, where it is worst.
std::string supply_alarms(const std::vector<PlacedFault>& faults) {
    std::string text;
    for (const PlacedFault& placed : faults) {
        if (placed.accepted.empty()) text += summary_line("ALARM", "supply: " + text_of(placed));
    }
    return text;
}

std::string accepted_faults(const std::vector<PlacedFault>& faults) {
    std::string text;
    for (const PlacedFault& placed : faults) {
        if (placed.accepted.empty()) continue;
        text += summary_line("Accepted",
                             fmt::format("supply: {}: {}", text_of(placed), placed.accepted));
    }
    return text;
}

std::string best_cases(const SweepRun& run) {
    const std::vector<ModelGap> gaps = all_gaps(run);
    if (gaps.empty()) return "";
    return summary_line("Best case", fmt::format("{}: figures with a {} are best cases",
                                                 text_of(gaps), best_case_mark));
}

std::string unknown_stability(const SweepRun& run) {
    const bool known = std::all_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        const Stability& s = knob.behaviour.stability;
        return s.known || !s.stable;
    });
    return known ? "" : summary_line("Stability", "not known: the circuit has too many unknowns");
}

std::string decibels(double db) {
    return fixed(db, 1) + " dB";
}

std::string gain_words(const SweepRun& run) {
    const KnobResult& least = quietest(run);
    const KnobResult& most = loudest(run);
    if (std::isnan(most.measures.gain_1khz_db)) return "none at 1 kHz";
    if (run.knob.size() == 1) return decibels(most.measures.gain_1khz_db) + at_knob(most);
    return fmt::format("{}{} to {}{}", decibels(least.measures.gain_1khz_db), at_knob(least),
                       decibels(most.measures.gain_1khz_db), at_knob(most));
}

/// A coupling capacitor's part in the 3 dB of the lower corner, as a high-pass of first order with
/// the corner that it has alone.
struct CornerPart {
    const PartRolloff* part;
    double loss_db;
};

std::vector<CornerPart> corner_parts(const KnobResult& knob) {
    std::vector<CornerPart> parts;
    for (const PartRolloff& part : knob.rolloff) {
        const double ratio = part.rolloff.corner_hz / knob.measures.low_corner_hz;
        if (!part.rolloff.in_the_way || !std::isfinite(ratio)) continue;
        parts.push_back({&part, 10 * std::log10(1 + ratio * ratio)});
    }
    std::stable_sort(parts.begin(), parts.end(), [](const CornerPart& a, const CornerPart& b) {
        return a.loss_db > b.loss_db;
    });
    return parts;
}

/// Names the capacitor that loses most at the lower corner and those that lose at least half as
/// much. If all together lose less than half of the 3 dB, a transformer or the source is behind it.
std::string corner_words(const KnobResult& knob) {
    std::vector<CornerPart> parts = corner_parts(knob);
    double total_db = 0;
    for (const CornerPart& part : parts) total_db += part.loss_db;
    if (total_db < minus_3_db / 2) return "lower corner not due to coupling capacitors";
    const double least_db = parts.front().loss_db / 2;
    std::erase_if(parts, [&](const CornerPart& part) { return part.loss_db < least_db; });
    std::vector<std::string> names;
    for (const CornerPart& part : parts) names.push_back(part.part->part);
    return fmt::format("lower corner mainly due to {}", fmt::join(names, ", "));
}

std::string band_words(const KnobResult& knob) {
    const double low_hz = knob.measures.low_corner_hz;
    const double high_hz = knob.measures.high_corner_hz;
    const std::string at = " at " + decibels(knob.measures.gain_1khz_db);
    if (std::isnan(low_hz) && std::isnan(high_hz)) return "no -3 dB corner found" + at;
    if (std::isnan(low_hz)) {
        return "up to " + frequency_text(high_hz) + at + "; no lower corner found";
    }
    const std::string from = frequency_text(low_hz);
    const std::string band = std::isnan(high_hz) ? "from " + from + at + "; no upper corner found"
                                                 : from + " to " + frequency_text(high_hz) + at;
    return fmt::format("{}; {}", band, corner_words(knob));
}

/// The three noisiest parts, the mechanisms of each added up.
std::string noisiest_parts(const std::vector<NoiseShare>& shares) {
    std::vector<std::pair<std::string, double>> parts;
    for (const NoiseShare& share : shares) {
        const auto known = std::find_if(parts.begin(), parts.end(),
                                        [&](const auto& part) { return part.first == share.part; });
        if (known == parts.end())
            parts.emplace_back(share.part, share.share);
        else
            known->second += share.share;
    }
    std::stable_sort(parts.begin(), parts.end(),
                     [](const auto& a, const auto& b) { return a.second > b.second; });
    std::vector<std::string> words;
    for (const auto& [name, share] : parts) {
        if (words.size() == 3 || share < smallest_share_shown) break;
        words.push_back(fmt::format("{} {} %", name, percent(share)));
    }
    return fmt::format("{}", fmt::join(words, ", "));
}

}  // namespace

std::string sweep_summary(const SweepRun& run) {
    const KnobResult& knob = loudest(run);
    const Measures& m = knob.measures;
    const std::vector<PlacedFault> faults = supply_faults(run);
    std::string text = oscillation_alarms(run) + supply_alarms(faults);
    text += summary_line("Gain", gain_words(run));
    if (std::isfinite(m.gain_1khz_db)) text += summary_line("-3 dB", band_words(knob));
    if (std::isfinite(m.ein_dbu) && !knob.noise_by_part.empty()) {
        text +=
            summary_line("EIN", fmt::format("{}{} dBu at {}; noise from {}",
                                            at_best(knob.assumes_ideal, {"ein"}) ? "at best " : "",
                                            fixed(m.ein_dbu, 1), decibels(m.gain_1khz_db),
                                            noisiest_parts(knob.noise_by_part)));
    }
    return text + cable_alarms(run) + accepted_faults(faults) + best_cases(run) +
           unknown_stability(run);
}

}  // namespace lowhiss::cli
