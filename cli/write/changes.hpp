#pragma once

#include <string>

#include "lowhiss/board/board_diff.hpp"

namespace lowhiss::cli {

/// "R4 changed: resistor 22 Ω -> resistor 47 Ω": of a change only the figures that differ.
std::string change_text(const BoardChange& change);

}  // namespace lowhiss::cli
