#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The names of all that neither the boards of a series nor any corner vary: "capsule", "U2 (no
/// worst figures)". `assembled` has the changes of its variant made.
std::vector<std::string> not_varied(const Board& assembled);

}  // namespace lowhiss
