#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// A table in Markdown for a pull request: a row for each board, with what does not pass, which
/// figures moved and which parts changed. Names are shown as they are, whatever marks are in them.
std::string check_markdown(const std::vector<CheckedBoard>& boards);

}  // namespace lowhiss::cli
