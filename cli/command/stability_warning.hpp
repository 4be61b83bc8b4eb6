#pragma once

#include <string>

#include "lowhiss/board/board.hpp"
#include "shell/console.hpp"

namespace lowhiss::cli {

/// Solves the assembled board with its own capsule and warns of each knob position at which it
/// oscillates, so that its other figures mean nothing. Returns whether there is one.
bool warn_if_unstable(const Board& assembled, const std::string& name,
                      const CommonOptions& options);

}  // namespace lowhiss::cli
