#pragma once

#include <string>
#include <string_view>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The board as a graph in Graphviz's DOT language, to be drawn by `dot`: from the input on the
/// left to the output on the right, parts as boxes with their values, nodes as dots with their
/// names, ground as a mark of its own on every pin that goes there. Open links are dashed, parts
/// that are not fitted left out.
///
/// Any name is safe: it is quoted, and control characters are shown as '?'. The same board gives
/// the same text. Cost linear.
std::string graph_text(const Board& assembled, std::string_view title);

}  // namespace lowhiss
