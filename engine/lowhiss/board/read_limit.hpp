#pragma once

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// Reads [[limit]], with the files of masks, and [drift] into the board. `part_entries` is [parts]
/// as it was written: a part whose own entry has a mistake is not reported again.
void read_limits(const Node::Table& tables, const Node::Table* part_entries, Board& board,
                 const FileReader& reader, Diagnostics& out);

}  // namespace lowhiss
