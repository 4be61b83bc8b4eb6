#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// How one part differs between two boards.
struct PartChange {
    enum class Kind { added, removed, changed, rewired };
    Kind kind;
    std::string part;
    std::string before;  ///< as part_text; empty where there was none
    std::string after;
};

/// A part in one line: kind, value, other figures that are not the default. Without its nodes.
std::string part_text(const Part& part);

/// What differs in `after` against `before`, in the order of `after`, removed parts last. Parts are
/// matched by designator; nodes by the parts on them, so that a node with another name is no
/// change: each node goes to the one that shares most pins with it, and a part is rewired when its
/// pins do not follow.
std::vector<PartChange> part_changes(const Board& before, const Board& after);

}  // namespace lowhiss
