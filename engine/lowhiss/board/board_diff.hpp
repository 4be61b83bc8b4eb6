#pragma once

#include <span>
#include <string>
#include <vector>

#include "lowhiss/board/board_lines.hpp"

namespace lowhiss {

/// How one part, or another line of a board, differs between two boards.
struct BoardChange {
    enum class Kind { added, removed, changed, rewired };
    Kind kind;
    std::string name;
    std::string before;  ///< the line's text, or its nodes; empty where there was none
    std::string after;
};

/// What differs in `after` against `before`, in the order of `after`, removed lines last. Lines are
/// matched by name; nodes by the parts on them, so that a node with another name is no change: a
/// node goes to the one of its name if they share a pin, else to the one that shares most pins with
/// it, and a part is rewired when its pins do not follow. The two pins of a resistor, capacitor,
/// inductor or link may change places.
std::vector<BoardChange> board_changes(std::span<const BoardLine> before,
                                       std::span<const BoardLine> after);

/// "added", "removed", "changed" or "rewired".
std::string_view text_of(BoardChange::Kind kind);

}  // namespace lowhiss
