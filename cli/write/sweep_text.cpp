#include "write/sweep_text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "lowhiss/quantity/print.hpp"
#include "write/knob_positions.hpp"
#include "write/sweep_summary.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

std::string at_end(const std::string& intro, const SeriesBoard& board, End end) {
    std::vector<std::string> names;
    for (std::size_t k = 0; k < board.ends.size(); ++k) {
        if (board.ends[k] == end) names.push_back(text_of(board.draws[k]));
    }
    return names.empty() ? "" : wrapped_list(intro, names);
}

std::string conditions(const Sweep& sweep, const std::optional<SeriesBoard>& board) {
    std::string text = fmt::format("  {}; noise rms, {} to {}\n",
                                   print_quantity(sweep.temperature_k, Unit::kelvin, 5),
                                   print_quantity(sweep.band.from_hz, Unit::hertz),
                                   print_quantity(sweep.band.to_hz, Unit::hertz));
    if (!board) return text;
    if (!board->limit.empty()) {
        text +=
            hanging(fmt::format("  worst board found for '{}', {}", board->limit, board->place), 4);
    }
    if (board->index) {
        const bool normal = board->series.distribution == Distribution::normal;
        return text + fmt::format("  seed {}, board {}, {} spread\n", board->series.seed,
                                  *board->index, normal ? "normal" : "uniform");
    }
    return text + at_end("at the low end", *board, End::low) +
           at_end("at the high end", *board, End::high);
}

std::string tables_text(const SweepRun& run, const TableChoice& choice, bool bold) {
    std::string text;
    for (const SweepTable& table : sweep_tables()) {
        if (!choice.shows(table)) continue;
        const bool there = table.has(run);
        if (!there && !choice.asks_for(table)) continue;
        text += "\n" + title_line(std::string(table.heading), bold);
        text += there ? table.text(run) : fmt::format("  none: {}\n", table.why_absent);
    }
    return text;
}

/// The names of the tables that a run has and that are not printed; as an option if one line has
/// room for it.
std::string more_line(const Sweep& sweep, const TableChoice& choice) {
    constexpr std::size_t columns = 80;
    std::vector<std::string> names;
    for (const SweepTable& table : sweep_tables()) {
        if (!choice.shows(table) && std::any_of(sweep.runs.begin(), sweep.runs.end(), table.has)) {
            names.emplace_back(table.name);
        }
    }
    if (names.empty()) return "";
    const std::string line = fmt::format("more: --show {}", fmt::join(names, ","));
    return "\n" + (width_of(line) <= columns ? line + "\n" : wrapped_list("more by --show", names));
}

std::vector<std::size_t> ends_of(const SweepRun& run) {
    if (run.knob.size() == 1) return {0};
    return {0, run.knob.size() - 1};
}

std::string compared_capsules(const std::vector<const SweepRun*>& runs, bool bold) {
    const std::string& variant = runs.front()->variant;
    Table table(1);
    table.heading({"capsule", "knob", "gain", "20 Hz", "20 kHz", "low", "EIN", "NF", "noise"});
    table.heading({"", "", "1 kHz", "re 1k", "re 1k", "-3 dB", "", "", "rise"});
    table.heading({"", "%", "dB", "dB", "dB", "Hz", "dBu", "dB", "dB"});
    for (const SweepRun* run : runs) {
        for (const std::size_t k : ends_of(*run)) {
            const Measures& m = run->knob[k].measures;
            table.row({run->capsule.empty() ? "(ideal)" : cut(run->capsule, 20),
                       rotation_percent(run->knob[k]), fixed(m.gain_1khz_db, 2),
                       fixed(m.gain_20hz_db - m.gain_1khz_db, 2),
                       fixed(m.gain_20khz_db - m.gain_1khz_db, 2), compact(m.low_corner_hz),
                       fixed(m.ein_dbu, 1), fixed(m.noise_figure_db, 1),
                       fixed(m.capsule_noise_rise_db, 2)});
        }
    }
    return title_line(
               variant.empty() ? "Capsules compared" : "Capsules compared, variant " + variant,
               bold) +
           table.text();
}

}  // namespace

std::string capsule_comparison(const Sweep& sweep, bool bold) {
    std::vector<std::vector<const SweepRun*>> by_variant;
    for (const SweepRun& run : sweep.runs) {
        const auto known =
            std::find_if(by_variant.begin(), by_variant.end(),
                         [&](const auto& runs) { return runs.front()->variant == run.variant; });
        if (known == by_variant.end())
            by_variant.push_back({&run});
        else
            known->push_back(&run);
    }
    std::string text;
    for (const auto& runs : by_variant) {
        if (runs.size() < 2) continue;
        text += (text.empty() ? "" : "\n") + compared_capsules(runs, bold);
    }
    return text;
}

std::string sweep_text(const Sweep& sweep, const std::optional<SeriesBoard>& board,
                       const TableChoice& choice, bool bold) {
    std::string text;
    for (const SweepRun& run : sweep.runs) {
        if (!text.empty()) text += "\n";
        text +=
            title_line(assembly_title(sweep.board, sweep.revision, run.variant, run.capsule), bold);
        if (!run.summary.empty()) text += hanging("  " + run.summary, 2);
        text += sweep_summary(run) + conditions(sweep, board) + tables_text(run, choice, bold);
    }
    const std::string capsules = capsule_comparison(sweep, bold);
    if (!capsules.empty()) text += "\n" + capsules;
    return text + more_line(sweep, choice);
}

}  // namespace lowhiss::cli
