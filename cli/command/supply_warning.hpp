#pragma once

#include <string>

#include "lowhiss/board/board.hpp"
#include "shell/console.hpp"

namespace lowhiss::cli {

/// Warns of each fault of the supply of the assembled board with its own capsule that it does not
/// accept.
void warn_of_supply_faults(const Board& assembled, const std::string& name,
                           const CommonOptions& options);

}  // namespace lowhiss::cli
