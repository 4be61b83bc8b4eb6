#pragma once

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// What [feed] says but for its terminals; without a standard where it names none that is known.
Feed read_feed_table(const Node::Table& table, const Position& at, Diagnostics& out);

}  // namespace lowhiss
