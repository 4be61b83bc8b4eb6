#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// What no board of a series varies, nor any corner, by name: "capsule", "U2 (no worst figures)".
/// `assembled` has the changes of its variant made.
std::vector<std::string> not_varied(const Board& assembled);

}  // namespace lowhiss
