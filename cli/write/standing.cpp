#include "write/standing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace lowhiss::cli {
namespace {

bool any(const std::vector<Verdict>& verdicts, Outcome outcome) {
    return std::any_of(verdicts.begin(), verdicts.end(),
                       [&](const Verdict& v) { return v.outcome == outcome; });
}

bool lacks_figures(const BaselineCheck& baseline) {
    return std::any_of(baseline.drifts.begin(), baseline.drifts.end(), [](const FigureDrift& d) {
        return d.kind == FigureDrift::Kind::not_computed;
    });
}

bool fails(const BaselineCheck& baseline) {
    if (baseline.state == BaselineCheck::State::none) return baseline.strict;
    if (!baseline.ordered_changes.empty()) return true;
    return std::any_of(baseline.drifts.begin(), baseline.drifts.end(),
                       [&](const FigureDrift& d) { return fails(d, baseline); });
}

/// "1 fails" or "2 fail".
struct Words {
    Standing standing;
    std::string_view one;
    std::string_view many;
};

constexpr std::array counted{
    Words{Standing::passes, "passes", "pass"}, Words{Standing::fails, "fails", "fail"},
    Words{Standing::bad_baseline, "has an unusable baseline", "have unusable baselines"},
    Words{Standing::unread, "could not be read", "could not be read"},
    Words{Standing::not_computed, "could not be computed", "could not be computed"}};

}  // namespace

Standing standing_of(const CheckedBoard& board) {
    if (!board.trouble.empty()) return Standing::unread;
    if (any(board.verdicts, Outcome::not_computed) || lacks_figures(board.baseline)) {
        return Standing::not_computed;
    }
    if (board.baseline.state == BaselineCheck::State::unusable) return Standing::bad_baseline;
    const bool fail = any(board.verdicts, Outcome::fail) ||
                      any(board.verdicts, Outcome::not_known) || fails(board.baseline);
    return fail ? Standing::fails : Standing::passes;
}

std::string sum_text(const std::vector<CheckedBoard>& boards) {
    std::string list;
    for (const Words& words : counted) {
        const auto count = std::count_if(
            boards.begin(), boards.end(),
            [&](const CheckedBoard& board) { return standing_of(board) == words.standing; });
        if (count == 0) continue;
        if (boards.size() == 1) return fmt::format("1 board: {}", words.one);
        list += fmt::format("{}{} {}", list.empty() ? "" : ", ", count,
                            count == 1 ? words.one : words.many);
    }
    return fmt::format("{} boards: {}", boards.size(), list);
}

}  // namespace lowhiss::cli
