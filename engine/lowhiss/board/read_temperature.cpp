#include "lowhiss/board/readers.hpp"

#include <fmt/format.h>

#include <set>

#include "lowhiss/quantity/print.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {
namespace {

/// The end of the range at which the part's value is zero or less, or nothing.
std::optional<double> vanishes_at_k(const Part& part, const Board& board) {
    const TemperatureCoefficient coefficient = temperature_coefficient_of(part);
    for (const double end_k : {board.temperature_range->low_k, board.temperature_range->high_k}) {
        for (const double per_k : {coefficient.low_per_k, coefficient.high_per_k}) {
            if (!(1 + per_k * (end_k - board.temperature_k) > 0)) return end_k;
        }
    }
    return std::nullopt;
}

}  // namespace

void read_temperatures(BoardDraft& draft, const Node::Table& board_table) {
    Board& board = draft.board;
    if (const Member* temperature = find(board_table, "temperature")) {
        board.temperature_k = read_figure(temperature->value, Unit::kelvin, Range::positive,
                                          "board.temperature", draft.out)
                                  .value_or(board.temperature_k);
    }
    const Member* range = find(board_table, "temperature_range");
    if (!range) return;
    const auto both = read_interval(range->value, Unit::kelvin, Range::positive, Range::positive,
                                    "board.temperature_range", draft.out);
    if (both) board.temperature_range = {both->low, both->high};
}

void reject_vanishing_values(const BoardDraft& draft) {
    const Board& board = draft.board;
    if (!board.temperature_range) return;
    std::set<std::string> reported;
    const auto check = [&](const Part& part) {
        const auto end_k = vanishes_at_k(part, board);
        if (!end_k || !reported.insert(part.name).second) return;
        draft.out.push_back(error_at(part.at, "vanishing-value",
                                     part.name + ".temperature_coefficient",
                                     fmt::format("the value is not positive at {}, an end of "
                                                 "board.temperature_range",
                                                 print_quantity(*end_k, Unit::kelvin)),
                                     "a smaller coefficient or a narrower range"));
    };
    for (const Part& part : board.parts) check(part);
    for (const Variant& variant : board.variants) {
        for (const Part& part : variant.changed) check(part);
    }
}

}  // namespace lowhiss
