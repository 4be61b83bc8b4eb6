#pragma once

#include <optional>
#include <string>

#include "lowhiss/sweep/sweep.hpp"
#include "write/series_board.hpp"

namespace lowhiss::cli {

/// All figures and curves; `board` is set for a board of a series.
std::string sweep_json(const Sweep& sweep, const std::optional<SeriesBoard>& board);

}  // namespace lowhiss::cli
