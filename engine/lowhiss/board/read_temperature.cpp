#include "lowhiss/board/readers.hpp"

#include <fmt/format.h>

#include <optional>
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

std::optional<double> number_of(const Node& node) {
    if (const auto* integer = std::get_if<std::int64_t>(&node.value)) {
        return static_cast<double>(*integer);
    }
    const auto* real = std::get_if<double>(&node.value);
    return real ? std::optional(*real) : std::nullopt;
}

/// Whether the unit of a temperature is clear; reports it if not. A bare number is in kelvin, but
/// one below 200 is probably meant in degrees, as no preamp is used below 200 K. A text must have a
/// unit.
bool is_clear(const Node& node, const std::string& subject, Diagnostics& out) {
    constexpr double coldest_k = 200;
    const auto number = number_of(node);
    if (!number || *number >= coldest_k) return true;
    out.push_back(error_at(node.at, "bad-value", subject,
                           fmt::format("the number {} has no unit and would be in kelvin", *number),
                           "a temperature such as 20 degC, -5 °C or 293.15 K",
                           *number < 0 ? fmt::format("write \"{} degC\"", *number)
                                       : fmt::format(R"(write "{0} degC" or "{0} K")", *number)));
    return false;
}

}  // namespace

void read_temperatures(BoardDraft& draft, const Node::Table& board_table) {
    Board& board = draft.board;
    const Member* temperature = find(board_table, "temperature");
    if (temperature != nullptr && is_clear(temperature->value, "board.temperature", draft.out)) {
        board.temperature_k = read_figure(temperature->value, Unit::kelvin, Range::positive,
                                          "board.temperature", draft.out)
                                  .value_or(board.temperature_k);
    }
    const Member* range = find(board_table, "temperature_range");
    if (!range) return;
    for (const Node& end : range->value.array() ? *range->value.array() : Node::Array{}) {
        if (!is_clear(end, "board.temperature_range", draft.out)) return;
    }
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
