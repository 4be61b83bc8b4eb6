#pragma once

#include <cstdint>

#include "lowhiss/series/random_board.hpp"

namespace lowhiss::cli {

/// A random board of a series, as a tolerance run makes it.
struct SeriesBoard {
    std::uint64_t index;
    BoardSeries series;
};

}  // namespace lowhiss::cli
