#include "write/check_markdown.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "shell/names.hpp"
#include "write/changes.hpp"
#include "write/figure_text.hpp"
#include "write/standing.hpp"
#include "write/titles.hpp"

namespace lowhiss::cli {
namespace {

/// More items than this in a cell are counted only.
constexpr std::size_t most_items = 8;

/// The items of a cell, one a line.
class Cell {
  public:
    void add(std::string_view text) {
        if (++count_ > most_items) return;
        text_ += (text_.empty() ? "" : "<br>") + for_markdown(text);
    }

    std::string text() const {
        if (count_ <= most_items) return text_;
        return fmt::format("{}<br>{} more", text_, count_ - most_items);
    }

  private:
    std::string text_;
    std::size_t count_ = 0;
};

std::string result_cell(const CheckedBoard& board) {
    switch (standing_of(board)) {
        case Standing::passes:
            return "pass";
        case Standing::fails:
            return "**FAIL**";
        case Standing::bad_baseline:
            return "**baseline cannot be used**";
        case Standing::unread:
            return "**cannot be read**";
        case Standing::not_computed:
            return "**cannot be computed**";
    }
    return "";
}

/// The distance of a verdict from passing; without a figure there is none.
double badness(const Verdict& v) {
    return std::isnan(v.margin_db) ? infinite : -v.margin_db;
}

/// The distance that a figure moved; to or from none there is no distance.
double distance_of(const FigureDrift& drift) {
    return std::isnan(drift.moved_by) ? infinite : std::abs(drift.moved_by);
}

std::string verdict_item(const Verdict& v, std::size_t others) {
    std::string text = fmt::format("{}: {}", v.limit, place_text(v.variant, v.capsule, v.knob));
    if (others > 0) text += fmt::format(" and {} more", others);
    if (!v.reason.empty()) return fmt::format("{}: {}", text, v.reason);
    return fmt::format("{}: {}, limit {}", text, measured_text(v), bounds_text(v));
}

/// The number of limit checks that pass, and the worst place of each limit that does not.
std::string limits_cell(const CheckedBoard& board) {
    std::map<std::string, std::vector<const Verdict*>> failed;
    std::vector<std::string> order;
    for (const Verdict& v : board.verdicts) {
        if (is_good(v)) continue;
        if (failed[v.limit].empty()) order.push_back(v.limit);
        failed[v.limit].push_back(&v);
    }
    const auto met = std::count_if(board.verdicts.begin(), board.verdicts.end(),
                                   [](const Verdict& v) { return v.outcome == Outcome::pass; });
    const auto limits = std::count_if(board.verdicts.begin(), board.verdicts.end(),
                                      [](const Verdict& v) { return v.of_limit; });
    Cell cell;
    cell.add(limits == 0 ? "none" : fmt::format("{} of {} pass", met, limits));
    for (const std::string& limit : order) {
        const auto& places = failed[limit];
        const auto worst = std::max_element(
            places.begin(), places.end(),
            [](const Verdict* a, const Verdict* b) { return badness(*a) < badness(*b); });
        cell.add(verdict_item(**worst, places.size() - 1));
    }
    return cell.text();
}

/// The moved figures of each name, in the order of the baseline.
std::string moved_cell(const CheckedBoard& board) {
    const BaselineCheck& baseline = board.baseline;
    using State = BaselineCheck::State;
    using Kind = FigureDrift::Kind;
    switch (baseline.state) {
        case State::aside:
            return "not compared";
        case State::none:
            return "no baseline";
        case State::unusable:
            return baseline.conflict ? "the baseline has a merge conflict" : "unusable baseline";
        case State::compared:
        case State::recorded:
        case State::unchanged:
            break;
    }
    std::map<std::string_view, std::vector<const FigureDrift*>> moved;
    std::vector<std::string_view> order;
    std::map<Kind, std::size_t> count;
    for (const FigureDrift& drift : baseline.drifts) {
        ++count[drift.kind];
        if (drift.kind != Kind::moved) continue;
        auto& places = moved[drift.figure.figure->name];
        if (places.empty()) order.push_back(drift.figure.figure->name);
        places.push_back(&drift);
    }
    Cell cell;
    for (const OrderedChange& change : baseline.ordered_changes) {
        cell.add(fmt::format("ordered {} {}", change.path, change.what));
    }
    for (const std::string_view name : order) {
        const auto& places = moved[name];
        const FigureDrift* farthest = *std::max_element(
            places.begin(), places.end(), [](const FigureDrift* a, const FigureDrift* b) {
                return distance_of(*a) < distance_of(*b);
            });
        const std::string others =
            places.size() > 1 ? fmt::format(" and {} more", places.size() - 1) : "";
        cell.add(fmt::format("{}{}: {} -> {}", drift_name(*farthest), others, farthest->before,
                             farthest->after));
    }
    const auto add_count = [&](Kind kind, std::string_view word) {
        if (count[kind] == 0) return;
        cell.add(fmt::format("{} figure{} {}", count[kind], count[kind] == 1 ? "" : "s", word));
    };
    add_count(Kind::missing, "new");
    add_count(Kind::obsolete, "gone");
    return cell.text().empty() ? "nothing" : cell.text();
}

std::string changes_cell(const CheckedBoard& board) {
    const BaselineCheck::State state = board.baseline.state;
    if (state == BaselineCheck::State::aside || state == BaselineCheck::State::none ||
        state == BaselineCheck::State::unusable) {
        return "";
    }
    Cell cell;
    for (const BoardChange& change : board.baseline.changes) cell.add(change_text(change));
    return board.baseline.changes.empty() ? "none" : cell.text();
}

std::string row(const CheckedBoard& board) {
    const std::string title = for_markdown(board_title(board.name, board.revision));
    if (!board.trouble.empty()) {
        const std::string first = board.trouble.substr(0, board.trouble.find('\n'));
        return fmt::format("| {} | {} | {} | | |\n", title, result_cell(board),
                           for_markdown(first));
    }
    return fmt::format("| {} | {} | {} | {} | {} |\n", title, result_cell(board),
                       limits_cell(board), moved_cell(board), changes_cell(board));
}

}  // namespace

std::string check_markdown(const std::vector<CheckedBoard>& boards) {
    std::string text = fmt::format("**lowhiss check: {}**\n\n", for_markdown(sum_text(boards)));
    text += "| board | result | limits | moved from the baseline | parts changed |\n";
    text += "| --- | --- | --- | --- | --- |\n";
    for (const CheckedBoard& board : boards) text += row(board);
    return text;
}

}  // namespace lowhiss::cli
