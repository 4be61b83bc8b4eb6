#pragma once

#include <cstdint>
#include <vector>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// Statistics of a figure over the boards of the series that have it.
struct Statistics {
    double nominal = unset;  ///< of the drawn board
    std::size_t count = 0;   ///< boards that have the figure
    double mean = unset;
    double sigma = unset;  ///< of the sample
    double min = unset;
    double percentile_1 = unset;
    double median = unset;
    double percentile_99 = unset;
    double max = unset;
    std::uint64_t board_of_min = 0;
    std::uint64_t board_of_max = 0;
};

/// Statistics of values in the order of the series; those that are not finite are left out.
/// Percentiles are interpolated between the ranks (Hyndman and Fan, "Sample quantiles in
/// statistical packages", American Statistician 50, 1996, definition 7).
Statistics statistics_of(const std::vector<double>& values, std::uint64_t first_board);

}  // namespace lowhiss
