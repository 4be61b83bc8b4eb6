#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// One thing that a board is made of, for comparing: a part with its nodes, or what stands in
/// brackets ([board], [input], ...), a variant's change of a part, or a model in use.
struct BoardLine {
    std::string name;
    std::string text;
    std::vector<std::string> nodes;

    bool operator==(const BoardLine&) const = default;
};

/// A part in one line: kind, value, other figures that are not the default. Without its nodes.
std::string part_text(const Part& part);

/// "20 degC", or "20 degC, used at 0 degC to 40 degC".
std::string temperature_text(const Board& board);

/// All that the board's figures depend on: its parts in their order, then temperature, terminals
/// and knob, what each variant changes, and the figures of every model and capsule in use. Limits
/// are no part of it, nor are names and summaries.
std::vector<BoardLine> board_lines(const Board& board);

}  // namespace lowhiss
