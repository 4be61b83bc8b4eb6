#pragma once

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The [[limit]] tables, as far as can be said without knowing the measures.
void read_limit_entries(const Node::Table& tables, Board& board, Diagnostics& out);

}  // namespace lowhiss
