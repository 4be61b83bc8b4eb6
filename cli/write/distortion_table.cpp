#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/decibel.hpp"
#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr double least_percent = 1e-4;

std::string harmonic_percent(double fraction) {
    if (std::isnan(fraction)) return "-";
    return 100 * fraction < least_percent ? "<0.0001" : fmt::format("{:.2g}", 100 * fraction);
}

/// The parts with at least a tenth of the largest part's share, at most two: a line of a terminal
/// holds no more. None where there is hardly any.
std::string whose_distortion(const Distortion& row) {
    constexpr std::size_t most_parts = 2;
    std::string text;
    for (const PartDistortion& part : row.by_part) {
        const double size = std::hypot(part.second, part.third);
        const double most = std::hypot(row.by_part[0].second, row.by_part[0].third);
        if (&part - row.by_part.data() >= static_cast<std::ptrdiff_t>(most_parts)) break;
        if (!(100 * size >= least_percent) || size < most / 10) break;
        text += fmt::format("{}{} {}", text.empty() ? "" : ", ", part.part, harmonic_percent(size));
    }
    return text.empty() ? "-" : text;
}

bool is_known(const Distortion& row) {
    return row.clips || std::isfinite(row.total);
}

}  // namespace

/// True also if it was not computed, so that the last line of a sweep lists the table.
bool has_distortion(const SweepRun& run) {
    return std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        return knob.distortion.empty() ||
               std::any_of(knob.distortion.begin(), knob.distortion.end(), is_known);
    });
}

bool distorts(const SweepRun& run) {
    return std::any_of(run.knob.begin(), run.knob.end(), [](const KnobResult& knob) {
        return std::any_of(
            knob.distortion.begin(), knob.distortion.end(),
            [](const Distortion& row) { return row.clips || 100 * row.total >= least_percent; });
    });
}

std::string distortion_table(const SweepRun& run) {
    Table table(0);
    table.heading({"knob", "sine", "output", "2nd", "3rd", "both", "by part"});
    table.heading({"%", "Hz", "dBu", "%", "%", "%", "%"});
    for (const KnobResult& knob : run.knob) {
        const bool best = at_best(knob.assumes_ideal, {"distortion"});
        for (const Distortion& row : knob.distortion) {
            if (!is_known(row)) continue;
            const std::string whole =
                row.clips ? "clips" : marked(harmonic_percent(row.total), best);
            table.row({rotation_percent(knob), fmt::format("{:g}", row.frequency_hz),
                       fixed(dbu_from_v(row.output_v), 1), harmonic_percent(row.second),
                       harmonic_percent(row.third), whole, whose_distortion(row)});
        }
    }
    return table.text() +
           hanging(
               "  harmonics in % of the fundamental, at a stated level and at the largest sine of "
               "the headroom; clips: beyond the headroom, or above 10 %; parts add up as phasors, "
               "and may cancel",
               4) +
           hanging(
               "  not included: preamp ICs, taken as linear until they clip, whatever "
               "distortion their data sheets state; op-amps, except for the onset of slewing; "
               "regulators, resistors, coils, transformers, the capsule",
               4) +
           best_case_note(run, {"distortion"});
}

}  // namespace lowhiss::cli
