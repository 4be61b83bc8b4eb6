#pragma once

#include "command/options.hpp"
#include "lowhiss/board/board.hpp"

namespace lowhiss::cli {

/// Warns of each knob position at which the assembled board, with its own capsule, is not stable,
/// and so no figure of it means anything. Whether there is one.
bool warn_if_unstable(const Board& assembled, const std::string& name,
                      const CommonOptions& options);

}  // namespace lowhiss::cli
