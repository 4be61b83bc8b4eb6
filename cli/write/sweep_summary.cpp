#include "write/sweep_summary.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/print.hpp"
#include "write/bass_words.hpp"
#include "write/best_case.hpp"
#include "write/figure_text.hpp"
#include "write/knob_positions.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

std::string summary_line(std::string_view label, const std::string& words) {
    return hanging(fmt::format("  {:<9}  {}", label, words), 13);
}

/// " (knob 25 %)", or nothing without a knob.
std::string at_knob(const KnobResult& knob) {
    return std::isnan(knob.position) ? "" : fmt::format(" (knob {} %)", rotation_percent(knob));
}

constexpr const char* nothing_holds = "No figure is valid where the circuit is unstable.";

/// The knob positions at which the board as drawn is unstable.
std::vector<std::string> instability_alarms(const SweepRun& run) {
    std::vector<std::string> oscillating;
    std::vector<std::string> latching;
    for (const KnobResult& knob : run.knob) {
        const Stability& s = knob.behaviour.stability;
        if (s.stable) continue;
        if (s.latches) {
            latching.push_back(print_quantity(s.latch_time_s, Unit::second, 3) + at_knob(knob));
        } else {
            oscillating.push_back(frequency_text(s.grows_hz) + at_knob(knob));
        }
    }
    std::vector<std::string> alarms;
    if (!oscillating.empty()) {
        alarms.push_back(fmt::format("OSCILLATES at {}", fmt::join(oscillating, ", ")));
    }
    if (!latching.empty()) {
        alarms.push_back(
            fmt::format("LATCHES UP with a time constant of {}", fmt::join(latching, ", ")));
    }
    if (!alarms.empty()) alarms.emplace_back(nothing_holds);
    return alarms;
}

std::string unstable_text(const Stability& s) {
    if (s.latches) {
        return "LATCHES UP with a time constant of " +
               print_quantity(s.latch_time_s, Unit::second, 3);
    }
    return "OSCILLATES at " + frequency_text(s.grows_hz);
}

/// The first knob position that each cable makes unstable.
std::string cable_alarms(const SweepRun& run) {
    std::string text;
    for (std::size_t k = 0; k < run.knob.front().behaviour.cables.size(); ++k) {
        const auto first =
            std::find_if(run.knob.begin(), run.knob.end(), [&](const KnobResult& knob) {
                return knob.behaviour.stability.stable &&
                       !knob.behaviour.cables[k].stability.stable;
            });
        if (first == run.knob.end()) continue;
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

std::string decibels(double db) {
    return fixed(db, 1) + " dB";
}

/// The position at which the input loads the capsule most, if that is too much.
std::string loading_alarm(const SweepRun& run) {
    const KnobResult* worst = nullptr;
    for (const KnobResult& knob : run.knob) {
        if (knob.loading.suits()) continue;
        if (!worst || knob.loading.loss_db > worst->loading.loss_db) worst = &knob;
    }
    if (!worst) return "";
    const CapsuleLoading& loading = worst->loading;
    return fmt::format(
        "the capsule loses {} at {} and {} at 1 kHz into an input impedance of {}: it needs at "
        "least {}{}",
        decibels(loading.loss_db), frequency_text(loading.at_hz), decibels(loading.loss_1khz_db),
        quantity(loading.input_ohm, Unit::ohm), quantity(loading.wants_ohm, Unit::ohm),
        at_knob(*worst));
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

std::string gain_range_words(const SweepRun& run) {
    const KnobResult& least = quietest(run);
    const KnobResult& most = loudest(run);
    if (std::isnan(most.measures.gain_1khz_db)) {
        return "none: no signal reaches the output at 1 kHz";
    }
    if (run.knob.size() == 1) return decibels(most.measures.gain_1khz_db) + at_knob(most);
    return fmt::format("{}{} to {}{}", decibels(least.measures.gain_1khz_db), at_knob(least),
                       decibels(most.measures.gain_1khz_db), at_knob(most));
}

/// Why the gain at an end of the band is a dash.
std::string silence_at_band_ends(const SweepRun& run) {
    std::vector<std::string> ends;
    const auto look_at = [&](double Measures::*gain_db, const char* frequency) {
        const auto silent =
            std::find_if(run.knob.begin(), run.knob.end(),
                         [&](const KnobResult& k) { return std::isnan(k.measures.*gain_db); });
        if (silent != run.knob.end()) ends.push_back(frequency + at_knob(*silent));
    };
    look_at(&Measures::gain_20hz_db, "20 Hz");
    look_at(&Measures::gain_20khz_db, "20 kHz");
    if (ends.empty()) return "";
    return summary_line(
        "", fmt::format("No signal reaches the output at {}.", fmt::join(ends, " and at ")));
}

/// "in phase"; where it depends on the knob, at each position.
std::string polarity_words(const SweepRun& run) {
    const double first = run.knob.front().measures.polarity;
    const bool same = std::all_of(run.knob.begin(), run.knob.end(), [&](const KnobResult& knob) {
        return knob.measures.polarity == first;
    });
    if (same) return figure_text(first, Unit::polarity);
    std::vector<std::string> words;
    for (const KnobResult& knob : run.knob) {
        words.push_back(figure_text(knob.measures.polarity, Unit::polarity) + at_knob(knob));
    }
    return fmt::format("{}", fmt::join(words, ", "));
}

std::string gain_words(const SweepRun& run) {
    if (std::isnan(loudest(run).measures.gain_1khz_db)) return gain_range_words(run);
    return fmt::format("{}; output {}", gain_range_words(run), polarity_words(run));
}

/// The parts that take half of the 3 dB or more.
std::string corner_words(const PartBassLoss& loss) {
    if (loss.causes.empty()) {
        return "lower corner not due to a capacitor, inductor, transformer or the capsule";
    }
    if (loss.interact()) return "lower corner due to " + interaction_text(loss, 1);
    std::vector<std::string> names;
    for (const PartRolloff& cause : loss.causes) names.push_back(bass_cause_text(cause));
    return fmt::format("lower corner mainly due to {}", fmt::join(names, ", "));
}

std::string band_words(const KnobResult& knob) {
    const double low_hz = knob.measures.low_corner_hz;
    const double high_hz = knob.measures.high_corner_hz;
    const std::string to =
        (at_best(knob.assumes_ideal, {"high_corner"}) ? "at best " : "") + frequency_text(high_hz);
    const std::string at = " at " + decibels(knob.measures.gain_1khz_db);
    if (std::isnan(low_hz) && std::isnan(high_hz)) return "no -3 dB corner found" + at;
    if (std::isnan(low_hz)) {
        return "up to " + to + at + "; no lower corner found";
    }
    const std::string from = frequency_text(low_hz);
    const std::string band = std::isnan(high_hz) ? "from " + from + at + "; no upper corner found"
                                                 : from + " to " + to + at;
    return fmt::format("{}; {}", band, corner_words(knob.corner_loss));
}

/// The three noisiest parts, the mechanisms of each added up.
std::string noisiest_parts(const std::vector<NoiseShare>& shares) {
    std::vector<std::pair<std::string, double>> parts;
    for (const NoiseShare& share : shares) {
        if (std::isnan(share.share)) continue;
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
    if (words.empty()) return parts.empty() ? "unknown parts" : "many parts";
    return fmt::format("{}", fmt::join(words, ", "));
}

}  // namespace

std::vector<std::string> sweep_alarms(const SweepRun& run) {
    std::vector<std::string> alarms = instability_alarms(run);
    for (const PlacedFault& placed : supply_faults(run)) {
        // Each fault of each part once, where it is worst.
        if (placed.accepted.empty()) alarms.push_back("supply: " + text_of(placed));
    }
    std::string loading = loading_alarm(run);
    if (!loading.empty()) alarms.push_back(std::move(loading));
    return alarms;
}

std::string sweep_summary(const SweepRun& run) {
    std::string text;
    for (const std::string& alarm : sweep_alarms(run)) {
        text += summary_line(alarm == nothing_holds ? "" : "ALARM", alarm);
    }
    return text + sweep_verdict(run);
}

std::string sweep_verdict(const SweepRun& run) {
    const KnobResult& knob = loudest(run);
    const Measures& m = knob.measures;
    std::string text = summary_line("Gain", gain_words(run)) + silence_at_band_ends(run);
    if (std::isfinite(m.gain_1khz_db)) text += summary_line("-3 dB", band_words(knob));
    if (std::isfinite(m.ein_dbu) && !knob.noise_by_part.empty()) {
        text +=
            summary_line("EIN", fmt::format("{}{} dBu at {}; noise from {}",
                                            at_best(knob.assumes_ideal, {"ein"}) ? "at best " : "",
                                            fixed(m.ein_dbu, 1), decibels(m.gain_1khz_db),
                                            noisiest_parts(knob.noise_by_part)));
    }
    return text + cable_alarms(run) + accepted_faults(supply_faults(run)) + best_cases(run) +
           unknown_stability(run);
}

}  // namespace lowhiss::cli
