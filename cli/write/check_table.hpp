#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// Verdicts worst first, then drift from the baseline, for people. What does not pass is repeated
/// at the end where there are several boards; the last line sums up.
std::string check_table(const std::vector<CheckedBoard>& boards, bool bold);

/// What does not pass, and the last line of the table; empty if every board passes.
std::string check_failures(const std::vector<CheckedBoard>& boards, bool bold);

}  // namespace lowhiss::cli
