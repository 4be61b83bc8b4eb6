#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// The outcome for one board: the worst that applies.
enum class Standing {
    passes,
    fails,         ///< a limit or the baseline
    bad_baseline,  ///< the file cannot be used
    unread,        ///< the board file cannot be used
    not_computed,  ///< a limit or figure has no value
};

Standing standing_of(const CheckedBoard& board);

/// "13 boards: 11 pass, 1 fails, 1 could not be read", or "1 board: passes".
std::string sum_text(const std::vector<CheckedBoard>& boards);

}  // namespace lowhiss::cli
