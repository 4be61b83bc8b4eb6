#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/board/limit.hpp"

namespace lowhiss {

/// Reads what [[limit]] tables say, and the files of their masks. All mistakes are reported.
std::vector<Limit> read_limits(const Board& board, const FileReader& reader, Diagnostics& out);

}  // namespace lowhiss
