#include "write/check_table.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "lowhiss/text/open.hpp"
#include "shell/names.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/shell_word.hpp"
#include "write/standing.hpp"
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

std::string and_others(std::size_t others) {
    return others == 0 ? "" : fmt::format("; and {} more", others);
}

/// A verdict in two or three lines, so that long names fit a narrow terminal. `others` are places
/// of the same limit that are not listed.
std::string verdict_text(const Verdict& v, std::size_t others = 0) {
    std::string text = fmt::format("  {:<7} {}: {}{}\n", outcome_word(v.outcome), v.limit,
                                   place_text(v.variant, v.capsule, v.knob), and_others(others));
    if (v.outcome == Outcome::not_known) {
        text += hanging(fmt::format("          {}, limit {}", v.measure, bounds_text(v)), 10);
    }
    if (!v.reason.empty()) return text + hanging("          " + v.reason, 10);
    text += fmt::format("          {}, limit {}, margin {}\n", measured_text(v), bounds_text(v),
                        delta_text(v.margin, v.unit));
    if (!v.look_at.empty()) {
        text += fmt::format("          main parts: {}\n", fmt::join(v.look_at, ", "));
    }
    return text;
}

std::vector<Verdict> worst_first(const std::vector<Verdict>& verdicts) {
    std::vector<Verdict> sorted = verdicts;
    std::stable_sort(sorted.begin(), sorted.end(), worse);
    return sorted;
}

/// Verdicts that are alike in these are one line, however many places they concern.
using Told = std::tuple<Outcome, std::string, std::string>;

/// A limit that does not apply to a board fails everywhere for one reason.
Told reason_of(const Verdict& v) {
    return {v.outcome, v.limit, v.reason};
}

std::string limits_text(const CheckedBoard& board) {
    const auto of_limits = static_cast<std::size_t>(std::count_if(
        board.verdicts.begin(), board.verdicts.end(), [](const Verdict& v) { return v.of_limit; }));
    const std::vector<Verdict> sorted = worst_first(board.verdicts);
    std::map<Told, std::size_t> places;
    for (const Verdict& v : sorted) {
        if (v.outcome == Outcome::not_computed) ++places[reason_of(v)];
    }
    std::string text;
    std::size_t met = 0;
    for (const Verdict& v : sorted) {
        if (v.outcome == Outcome::pass && ++met > most_met_shown) continue;
        const auto same = places.find(reason_of(v));
        if (same == places.end()) {
            text += verdict_text(v);
        } else if (same->second > 0) {
            text += verdict_text(v, same->second - 1);
            same->second = 0;
        }
    }
    if (met > most_met_shown) text += fmt::format("  PASS    {} more\n", met - most_met_shown);
    if (of_limits == 0) return text + "  no limits defined\n";
    return text + fmt::format("  {} of {} limit checks pass\n", met, of_limits);
}

using Drifts = std::vector<FigureDrift>;

/// The change over the allowed change.
double severity(const FigureDrift& drift) {
    if (drift.kind == FigureDrift::Kind::not_computed) return infinite;
    if (drift.kind != FigureDrift::Kind::moved) return 0;
    const double times = std::abs(drift.moved_by) / drift.allowed.size;
    return std::isnan(times) ? infinite : std::round(times / equal_db) * equal_db;
}

/// The names in a figure's key: variant, capsule, perhaps knob position, figure. A comma within a
/// name is escaped there.
std::vector<std::string> names_in(const std::string& key) {
    std::vector<std::string> names{""};
    for (std::size_t k = 0; k < key.size(); ++k) {
        if (key[k] == '\\' && k + 1 < key.size()) {
            names.back() += key[++k];
        } else if (key[k] == ',' && k + 1 < key.size() && key[k + 1] == ' ') {
            names.emplace_back();
            ++k;
        } else {
            names.back() += key[k];
        }
    }
    return names;
}

using Place = std::vector<std::string>;

/// Variant and capsule of a figure.
Place assembly_of(const FigureDrift& drift) {
    Place names = names_in(drift.key);
    names.resize(std::min<std::size_t>(names.size(), 2));
    return names;
}

/// The same with the knob position.
Place position_of(const FigureDrift& drift) {
    Place names = names_in(drift.key);
    names.pop_back();
    return names;
}

/// The figures that only the board or only the baseline has. An assembly, or a knob position, of
/// which that is true of every figure is one line.
class OneSided {
  public:
    OneSided(const Drifts& all, FigureDrift::Kind kind) {
        for (const FigureDrift& drift : all) {
            if (drift.kind == FigureDrift::Kind::missing ||
                drift.kind == FigureDrift::Kind::obsolete) {
                continue;
            }
            common_.insert(assembly_of(drift));
            common_.insert(position_of(drift));
        }
        for (const FigureDrift& drift : all) {
            if (drift.kind == kind) add(drift);
        }
    }

    /// The lines of whole assemblies and positions.
    std::string text(std::string_view word, std::string_view where) const {
        std::string text;
        for (const Place& place : order_) {
            text += hanging(fmt::format("  {:<7} {}: {} figures, {}", word, fmt::join(place, ", "),
                                        figures_.at(place), where),
                            10);
        }
        return text;
    }

    const Drifts& single() const { return single_; }

  private:
    void add(const FigureDrift& drift) {
        for (const Place& place : {assembly_of(drift), position_of(drift)}) {
            if (common_.contains(place)) continue;
            if (++figures_[place] == 1) order_.push_back(place);
            return;
        }
        single_.push_back(drift);
    }

    std::set<Place> common_;  ///< places of which board and baseline both have a figure
    std::map<Place, std::size_t> figures_;
    std::vector<Place> order_;
    Drifts single_;
};

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
        text += fmt::format("  {:<7} {}{}\n          {}\n", word, drift_name(*worst[k]),
                            and_others(places[name(*worst[k])] - 1), drift_text(*worst[k]));
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

std::string_view replaced_text(const BaselineCheck& baseline) {
    if (!baseline.replaces) return "";
    return baseline.conflict ? " over one with a merge conflict" : " over one that was unusable";
}

std::string record_command(const CheckedBoard& board) {
    return fmt::format("lowhiss check {} --record", shell_word(board.path));
}

std::string new_lines(const BaselineCheck& baseline) {
    const OneSided figures(baseline.drifts, FigureDrift::Kind::missing);
    return figures.text("NEW", "not in the baseline") + drift_lines(figures.single(), "NEW");
}

std::string gone_lines(const BaselineCheck& baseline) {
    const OneSided figures(baseline.drifts, FigureDrift::Kind::obsolete);
    return figures.text("GONE", "only in the baseline") + drift_lines(figures.single(), "GONE");
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
    return fmt::format("  baseline {} written{}: {} figures, {} new, {} gone, {} changed\n",
                       for_terminal(baseline.path), replaced_text(baseline),
                       baseline.drifts.size() - count(FigureDrift::Kind::obsolete),
                       count(FigureDrift::Kind::missing), count(FigureDrift::Kind::obsolete),
                       accepted.size()) +
           drift_lines(accepted, "ACCEPT") + changes_text(baseline.changes);
}

/// How to note the ordered files as they are now: all of them, since they are noted together.
std::string order_command(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    if (baseline.ordered_changes.empty() || !board.set.empty()) return "";
    std::string command = record_command(board);
    for (const OrderedFile& file : baseline.ordered) {
        command += " --ordered " + shell_word(path_beside(baseline.path, file.path));
    }
    return fmt::format("          once lowhiss match agrees: {}\n", command);
}

/// Each reason once, with the first figure that it leaves without a value: one mistake in a netlist
/// takes all figures away.
std::string errors_text(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    const Drifts errors = those(baseline.drifts, [](const FigureDrift& d) {
        return d.kind == FigureDrift::Kind::not_computed;
    });
    std::map<std::string_view, std::size_t> figures;
    for (const FigureDrift& d : errors) ++figures[d.figure.trouble];
    std::string text;
    for (const OrderedChange& change : baseline.ordered_changes) {
        text += hanging(fmt::format("  ORDER   {} {}; see lowhiss match", for_terminal(change.path),
                                    for_terminal(change.what)),
                        10);
    }
    text += order_command(board);
    for (const FigureDrift& d : errors) {
        const auto same = figures.find(d.figure.trouble);
        if (same == figures.end()) continue;
        text += fmt::format("  ERROR   {}{}\n", drift_name(d), and_others(same->second - 1));
        text += hanging("          " + drift_text(d), 10);
        figures.erase(same);
    }
    return text;
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
    std::string text = errors_text(board) + drift_lines(moved, "DRIFT") + new_lines(baseline) +
                       gone_lines(baseline);
    text += fmt::format("  {} of {} figures drifted from the baseline", moved.size(),
                        baseline.drifts.size());
    if (baseline.board != board.name && board.set.empty())
        text += fmt::format(" of another board, {}", baseline.board);
    if (!baseline.revision.empty()) text += " of revision " + baseline.revision;
    if (!missing.empty()) text += fmt::format(", {} new", missing.size());
    if (!obsolete.empty()) text += fmt::format(", {} gone", obsolete.size());
    text += "\n" + changes_text(baseline.changes);
    const bool all_still = moved.empty() && missing.empty() && obsolete.empty();
    if (!all_still && board.set.empty())
        text += fmt::format("  to accept this: {}\n", record_command(board));
    return text;
}

std::string unusable_lines(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    const std::string path = for_terminal(baseline.path);
    const std::string ordered =
        baseline.loses_ordered
            ? " --ordered FILE\n          with --ordered for each file that the board is ordered by"
            : "";
    if (baseline.conflict) {
        return fmt::format(
            "  ERROR   the baseline {} has a merge conflict{}; merge the board file, then:\n"
            "          {}{}\n",
            path, baseline.loses_ordered ? " in the ordered files that it notes" : "",
            record_command(board), ordered);
    }
    return fmt::format(
        "  ERROR   the baseline {} cannot be read or written; to replace it:\n"
        "          {} --force{}\n",
        path, record_command(board), ordered);
}

std::string baseline_lines(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    using State = BaselineCheck::State;
    switch (baseline.state) {
        case State::aside:
            return "";
        case State::none:
            return errors_text(board) + fmt::format("  {}no baseline; to create it: {}\n",
                                                    baseline.strict ? "FAIL    " : "",
                                                    record_command(board));
        case State::unusable:
            return unusable_lines(board);
        case State::compared:
            return compared_lines(board);
        case State::recorded:
        case State::unchanged:
            return errors_text(board) + recorded_lines(baseline);
    }
    return "";
}

std::string board_text(const CheckedBoard& board, bool bold) {
    const std::string text =
        title_line(for_terminal(board_title(board.name, board.revision)), bold);
    if (!board.trouble.empty()) return text + "  not checked: the board could not be read\n";
    return text + limits_text(board) + baseline_lines(board);
}

/// The worst place of each limit that does not pass.
std::string failed_limits(const CheckedBoard& board) {
    const std::vector<Verdict> sorted = worst_first(board.verdicts);
    const auto limit_of = [](const Verdict& v) {
        const bool each = v.outcome == Outcome::not_computed || v.measure == supply_fault_measure;
        return each ? reason_of(v) : Told(v.outcome, v.limit, "");
    };
    std::map<Told, std::size_t> places;
    std::vector<const Verdict*> worst;
    for (const Verdict& v : sorted) {
        if (!is_good(v) && ++places[limit_of(v)] == 1) worst.push_back(&v);
    }
    std::string text;
    for (const Verdict* v : worst) text += verdict_text(*v, places[limit_of(*v)] - 1);
    return text;
}

std::string failed_baseline(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    using State = BaselineCheck::State;
    using Kind = FigureDrift::Kind;
    if (baseline.state == State::unusable) return unusable_lines(board);
    if (baseline.state == State::none && baseline.strict) return baseline_lines(board);
    const Drifts failing =
        those(baseline.drifts, [&](const FigureDrift& d) { return fails(d, baseline); });
    std::string text = errors_text(board);
    if (baseline.state != State::compared || failing.empty()) return text;
    text += drift_lines(those(failing, [](const FigureDrift& d) { return d.kind == Kind::moved; }),
                        "DRIFT");
    if (baseline.strict) text += new_lines(baseline) + gone_lines(baseline);
    return text + changes_text(baseline.changes) +
           (board.set.empty() ? fmt::format("  to accept this: {}\n", record_command(board)) : "");
}

/// What does not pass, each board with its title; empty if all pass.
std::string failures_text(const std::vector<CheckedBoard>& boards, bool bold) {
    std::string text;
    for (const CheckedBoard& board : boards) {
        if (standing_of(board) == Standing::passes) continue;
        if (!text.empty()) text += "\n";
        text += title_line(board_title(board.name, board.revision), bold);
        text += board.trouble.empty() ? failed_limits(board) + failed_baseline(board)
                                      : "  not checked: the board could not be read\n";
    }
    return text;
}

}  // namespace

std::string check_table(const std::vector<CheckedBoard>& boards, bool bold) {
    std::string text;
    for (const CheckedBoard& board : boards) text += board_text(board, bold) + "\n";
    const std::string failures = boards.size() > 1 ? failures_text(boards, bold) : "";
    if (!failures.empty()) text += title_line("Failures", bold) + "\n" + failures + "\n";
    return text + sum_text(boards) + "\n";
}

std::string check_failures(const std::vector<CheckedBoard>& boards, bool bold) {
    const std::string failures = failures_text(boards, bold);
    return failures.empty() ? "" : failures + "\n" + sum_text(boards) + "\n";
}

}  // namespace lowhiss::cli
