#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// A table in Markdown for a pull request: a row for each board, with what does not pass, which
/// figures moved and which parts changed. Names are shown as they are, whatever marks are in them.
std::string check_markdown(const std::vector<CheckedBoard>& boards);

/// A text for a cell of a table in GitHub-flavoured Markdown: its marks and HTML are escaped, and
/// it stays on one line.
std::string markdown_cell(std::string_view text);

}  // namespace lowhiss::cli
