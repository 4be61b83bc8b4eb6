#pragma once

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// `temperature` and `temperature_range` of the [board] table.
void read_temperatures(const Node::Table& board_table, Board& board, Diagnostics& out);

/// Reports every part whose value would be nothing, or less, at an end of the temperature range.
void reject_vanishing_values(const Board& board, Diagnostics& out);

}  // namespace lowhiss
