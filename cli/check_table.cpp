#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "check.hpp"
#include "table.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_met_shown = 5;

/// Margins closer than this are even: rounding must not decide the order.
constexpr double even_db = 1e-6;

std::string bound_text(const Verdict& v) {
    if (std::isnan(v.min)) return "at most " + figure_text(v.max, v.unit);
    if (std::isnan(v.max)) return "at least " + figure_text(v.min, v.unit);
    return figure_text(v.min, v.unit) + " to " + figure_text(v.max, v.unit);
}

bool worse(const Verdict& a, const Verdict& b) {
    const auto rank = [](const Verdict& v) {
        return std::pair(v.outcome == Outcome::not_computed ? 0 : 1,
                         std::isnan(v.margin_db) ? 0 : std::round(v.margin_db / even_db));
    };
    return rank(a) < rank(b);
}

std::string bold_if(bool bold, const std::string& text) {
    return bold ? "\x1b[1m" + text + "\x1b[0m" : text;
}

std::string word(Outcome outcome) {
    switch (outcome) {
        case Outcome::met:
            return "met";
        case Outcome::missed:
            return "MISSED";
        case Outcome::not_computed:
            return "ERROR";
    }
    return "";
}

/// A verdict in two or three lines, so that long names fit a narrow terminal.
std::string verdict_text(const Verdict& v) {
    std::string text = fmt::format("  {:<7} {}: {}\n", word(v.outcome), v.limit, place_text(v));
    if (v.outcome == Outcome::not_computed) return text + "          " + v.reason + "\n";
    std::string line = fmt::format("          {} {}", v.measure, figure_text(v.value, v.unit));
    if (!std::isnan(v.at_hz)) line += " at " + figure_text(v.at_hz, Unit::hertz);
    line += fmt::format(", limit {}, margin {}", bound_text(v),
                        figure_text(v.margin, v.unit == Unit::dbu ? Unit::decibel : v.unit));
    text += line + "\n";
    if (!v.look_at.empty()) {
        text += fmt::format("          look at {}\n", fmt::join(v.look_at, ", "));
    }
    return text;
}

std::string board_text(const CheckedBoard& board, bool bold) {
    std::string title = board.name;
    if (!board.revision.empty()) title += ", revision " + board.revision;
    std::string text = bold_if(bold, title) + "\n";
    if (!board.trouble.empty()) return text + "  not checked: the board could not be read\n";
    if (board.verdicts.empty()) return text + "  no limits: the board promises nothing\n";
    std::vector<Verdict> sorted = board.verdicts;
    std::stable_sort(sorted.begin(), sorted.end(), worse);
    std::size_t met = 0;
    for (const Verdict& v : sorted) {
        if (v.outcome == Outcome::met && ++met > most_met_shown) continue;
        text += verdict_text(v);
    }
    if (met > most_met_shown) text += fmt::format("  met     {} more\n", met - most_met_shown);
    return text + fmt::format("  {} of {} limits met\n", met, sorted.size());
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
