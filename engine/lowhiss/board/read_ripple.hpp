#pragma once

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// Reads [[ripple]] into the board. `part_entries` is [parts] as it was written: a part whose own
/// entry has a mistake is not reported again.
void read_ripples(const Node::Table& tables, Board& board, const Node::Table* part_entries,
                  Diagnostics& out);

/// Whether the part holds a voltage that ripple may ride on.
bool carries_ripple(const Part& part);

}  // namespace lowhiss
