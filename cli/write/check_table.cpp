#include "write/check_table.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "shell/names.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/table.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_met_shown = 5;
constexpr std::size_t most_drifts_shown = 20;
constexpr std::size_t most_changes_listed = 20;

/// Margins and drifts closer than this count as equal, so that rounding does not decide the order.
constexpr double equal_db = 1e-6;

bool worse(const Verdict& a, const Verdict& b) {
    const auto rank = [](const Verdict& v) {
        return std::pair(v.outcome == Outcome::not_computed ? 0 : 1,
                         std::isnan(v.margin_db) ? 0 : std::round(v.margin_db / equal_db));
    };
    return rank(a) < rank(b);
}

/// A verdict in two or three lines, so that long names fit a narrow terminal.
std::string verdict_text(const Verdict& v) {
    std::string text = fmt::format("  {:<7} {}: {}\n", outcome_word(v.outcome), v.limit,
                                   place_text(v.variant, v.capsule, v.knob));
    if (!v.reason.empty()) return text + hanging("          " + v.reason, 10);
    text += fmt::format("          {}, limit {}, margin {}\n", measured_text(v), bounds_text(v),
                        delta_text(v.margin, v.unit));
    if (!v.look_at.empty()) {
        text += fmt::format("          main parts: {}\n", fmt::join(v.look_at, ", "));
    }
    return text;
}

std::string limits_text(const CheckedBoard& board) {
    if (board.verdicts.empty()) return "  no limits defined\n";
    std::vector<Verdict> sorted = board.verdicts;
    std::stable_sort(sorted.begin(), sorted.end(), worse);
    std::string text;
    std::size_t met = 0;
    for (const Verdict& v : sorted) {
        if (v.outcome == Outcome::pass && ++met > most_met_shown) continue;
        text += verdict_text(v);
    }
    if (met > most_met_shown) text += fmt::format("  PASS    {} more\n", met - most_met_shown);
    return text + fmt::format("  {} of {} limit checks pass\n", met, sorted.size());
}

using Drifts = std::vector<FigureDrift>;

/// The change over the allowed change.
double severity(const FigureDrift& drift) {
    if (drift.kind == FigureDrift::Kind::not_computed) return infinite;
    if (drift.kind != FigureDrift::Kind::moved) return 0;
    const double times = std::abs(drift.moved_by) / drift.allowed.size;
    return std::isnan(times) ? infinite : std::round(times / equal_db) * equal_db;
}

/// The worst place of each figure, with how many others there are; `drifts` are worst first.
std::string drift_lines(const Drifts& drifts, std::string_view word) {
    std::map<std::string_view, std::size_t> places;
    std::vector<const FigureDrift*> worst;
    const auto name = [](const FigureDrift& drift) {
        return drift.figure.figure ? drift.figure.figure->name : std::string_view(drift.key);
    };
    for (const FigureDrift& drift : drifts) {
        if (++places[name(drift)] == 1) worst.push_back(&drift);
    }
    std::string text;
    for (std::size_t k = 0; k < std::min(worst.size(), most_drifts_shown); ++k) {
        const std::size_t others = places[name(*worst[k])] - 1;
        text += fmt::format("  {:<7} {}{}\n          {}\n", word, drift_name(*worst[k]),
                            others > 0 ? fmt::format("; and {} more", others) : "",
                            drift_text(*worst[k]));
    }
    if (worst.size() > most_drifts_shown) {
        text += fmt::format("  {:<7} {} more\n", word, worst.size() - most_drifts_shown);
    }
    return text;
}

std::string changes_text(const std::vector<BoardChange>& changes) {
    if (changes.empty()) return "";
    std::string text = "  changes since the baseline\n";
    for (std::size_t k = 0; k < std::min(changes.size(), most_changes_listed); ++k) {
        text += hanging("          " + change_text(changes[k]), 12);
    }
    if (changes.size() > most_changes_listed) {
        text += fmt::format("          {} more\n", changes.size() - most_changes_listed);
    }
    return text;
}

template <class Wanted>
Drifts those(const Drifts& drifts, Wanted wanted) {
    Drifts kept;
    std::copy_if(drifts.begin(), drifts.end(), std::back_inserter(kept), wanted);
    std::stable_sort(kept.begin(), kept.end(), [](const FigureDrift& a, const FigureDrift& b) {
        return severity(a) > severity(b);
    });
    return kept;
}

/// The figures that --record accepts: every figure whose recorded text changes.
std::string recorded_lines(const BaselineCheck& baseline) {
    if (baseline.state == BaselineCheck::State::unchanged) {
        return fmt::format("  baseline {} is up to date\n", for_terminal(baseline.path));
    }
    const Drifts accepted = those(baseline.drifts, [](const FigureDrift& d) {
        return d.before != d.after && !d.before.empty() && !d.after.empty();
    });
    const auto count = [&](FigureDrift::Kind kind) {
        return those(baseline.drifts, [&](const FigureDrift& d) { return d.kind == kind; }).size();
    };
    return fmt::format("  baseline {} written: {} figures, {} new, {} gone, {} changed\n",
                       for_terminal(baseline.path),
                       baseline.drifts.size() - count(FigureDrift::Kind::obsolete),
                       count(FigureDrift::Kind::missing), count(FigureDrift::Kind::obsolete),
                       accepted.size()) +
           drift_lines(accepted, "ACCEPT") + changes_text(baseline.changes);
}

std::string errors_text(const BaselineCheck& baseline) {
    return drift_lines(
        those(baseline.drifts,
              [](const FigureDrift& d) { return d.kind == FigureDrift::Kind::not_computed; }),
        "ERROR");
}

std::string compared_lines(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    using Kind = FigureDrift::Kind;
    const auto of = [&](Kind kind) {
        return those(baseline.drifts, [&](const FigureDrift& d) { return d.kind == kind; });
    };
    const Drifts moved = of(Kind::moved);
    const Drifts missing = of(Kind::missing);
    const Drifts obsolete = of(Kind::obsolete);
    std::string text = errors_text(baseline) + drift_lines(moved, "DRIFT") +
                       drift_lines(missing, "NEW") + drift_lines(obsolete, "GONE");
    text += fmt::format("  {} of {} figures drifted from the baseline", moved.size(),
                        baseline.drifts.size());
    if (baseline.board != board.name) text += fmt::format(" of another board, {}", baseline.board);
    if (!baseline.revision.empty()) text += " of revision " + baseline.revision;
    if (!missing.empty()) text += fmt::format(", {} new", missing.size());
    if (!obsolete.empty()) text += fmt::format(", {} gone", obsolete.size());
    text += "\n" + changes_text(baseline.changes);
    const bool all_still = moved.empty() && missing.empty() && obsolete.empty();
    if (!all_still) text += "  to accept the changes: lowhiss check --record\n";
    return text;
}

std::string baseline_lines(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    using State = BaselineCheck::State;
    switch (baseline.state) {
        case State::aside:
            return "";
        case State::none:
            return errors_text(baseline) +
                   fmt::format("  {}no baseline; to create it: lowhiss check --record\n",
                               baseline.strict ? "FAIL    " : "");
        case State::unusable:
            return fmt::format("  ERROR   the baseline {} cannot be read or written\n",
                               for_terminal(baseline.path));
        case State::compared:
            return compared_lines(board);
        case State::recorded:
        case State::unchanged:
            return recorded_lines(baseline);
    }
    return "";
}

std::string board_text(const CheckedBoard& board, bool bold) {
    const std::string text =
        title_line(for_terminal(board_title(board.name, board.revision)), bold);
    if (!board.trouble.empty()) return text + "  not checked: the board could not be read\n";
    return text + limits_text(board) + baseline_lines(board);
}

}  // namespace

std::string check_table(const std::vector<CheckedBoard>& boards, bool bold) {
    std::string text;
    for (const CheckedBoard& board : boards) {
        if (!text.empty()) text += "\n";
        text += board_text(board, bold);
    }
    return text;
}

}  // namespace lowhiss::cli
