#pragma once

#include <span>
#include <string>
#include <vector>

#include "lowhiss/board/board_lines.hpp"

namespace lowhiss {

/// The difference of one part, or another item, between two boards.
struct BoardChange {
    enum class Kind { added, removed, changed, rewired };
    Kind kind;
    std::string name;
    std::string before;  ///< the item's text, or its nodes; empty if there was none
    std::string after;
};

/// The differences of `after` from `before`, in the order of `after`, removed lines last. Lines are
/// matched by name, nodes by the parts on them, so that renaming a node is no change: a node is
/// matched with the one of its name if they share a pin, else with the one that shares most pins
/// with it. A part is rewired if its pins are not on the matching nodes; the two pins of a
/// reversible part may change places.
std::vector<BoardChange> board_changes(std::span<const BoardLine> before,
                                       std::span<const BoardLine> after);

/// "added", "removed", "changed" or "rewired".
std::string_view text_of(BoardChange::Kind kind);

}  // namespace lowhiss
