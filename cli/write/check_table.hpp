#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// Verdicts worst first, then drift from the baseline, for people.
std::string check_table(const std::vector<CheckedBoard>& boards, bool bold);

}  // namespace lowhiss::cli
