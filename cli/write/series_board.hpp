#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "lowhiss/series/draw.hpp"
#include "lowhiss/series/random_board.hpp"

namespace lowhiss::cli {

/// A board that a tolerance run has made: a random board of the series, or the worst one that was
/// found for a limit.
struct SeriesBoard {
    std::optional<std::uint64_t> index;  ///< of a random board
    BoardSeries series;
    std::string limit;  ///< empty: by its index
    std::string place;  ///< where that limit is judged
    // For a corner, the end of its range that each random number of the board is at.
    std::vector<Draw> draws;
    std::vector<End> ends;
};

}  // namespace lowhiss::cli
