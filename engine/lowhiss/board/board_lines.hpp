#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// One item of a board, for comparing and for baselines: a part with its nodes, a section ([board],
/// [input], ...), a variant's change of a part, or a model in use.
struct BoardLine {
    std::string name;
    std::string text;  ///< all of its figures, to six digits
    std::vector<std::string> nodes{};
    bool reversible = false;  ///< two nodes that may change places; a baseline does not record it

    bool operator==(const BoardLine&) const = default;
};

/// A part in one line, without its nodes: kind, value, other figures that are not the default.
std::string part_text(const Part& part);

/// "20 degC", or "20 degC, used at 0 degC to 40 degC".
std::string temperature_text(const Board& board);

/// Everything that the board's figures depend on: its parts in their order, then temperature,
/// terminals and knob, what each variant changes, and the figures of every model and capsule in
/// use. Limits, names and summaries are left out.
std::vector<BoardLine> board_lines(const Board& board);

}  // namespace lowhiss
