#pragma once

#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// How far to the right things stand in a drawing of the board, counted from the input.
struct Columns {
    std::vector<int> node;  ///< of each node of `nodes_of`; ground's means nothing
    std::vector<int> part;  ///< of each part of the board
};

/// Breadth first from the input over everything but ground; an amplifier's inputs stand together on
/// its left, its output on its right, so that feedback is drawn around it and not in front of it.
Columns columns_of(const Board& assembled);

}  // namespace lowhiss
