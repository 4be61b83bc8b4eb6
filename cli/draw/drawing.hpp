#pragma once

#include <string>
#include <string_view>

#include "lowhiss/board/board.hpp"

namespace lowhiss::cli {

/// The board as a graph in Graphviz's DOT language: input on the left, output on the right, parts
/// as boxes with their values, nodes as dots with their names, a ground symbol at every grounded
/// pin. Open links are dashed; parts that are not fitted are left out.
///
/// Names are quoted, and control characters shown as '?'. The same board gives the same text.
/// Linear cost.
std::string graph_text(const Board& assembled, std::string_view title);

}  // namespace lowhiss::cli
