#pragma once

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// Reads [matched] into the board. `part_entries` is [parts] as it was written: a part whose own
/// entry has a mistake is not reported again.
void read_matched_groups(const Node::Table& tables, const Node::Table* part_entries, Board& board,
                         Diagnostics& out);

}  // namespace lowhiss
