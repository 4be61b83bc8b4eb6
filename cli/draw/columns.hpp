#pragma once

#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss::cli {

/// The column of each node and part in a drawing of the board, counted from the input.
struct Columns {
    std::vector<int> node;  ///< in the order of `nodes_of`; not set for ground
    std::vector<int> part;  ///< in the board's order; not set if not fitted
};

/// Breadth first from the input, without crossing ground. An amplifier has its inputs on the left
/// and its output on the right, so that feedback is drawn around it and not in front of it.
Columns columns_of(const Board& assembled);

}  // namespace lowhiss::cli
