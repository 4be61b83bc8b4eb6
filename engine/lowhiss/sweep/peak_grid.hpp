#pragma once

#include <span>
#include <vector>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss {

/// The request's frequencies and those at which its curves have their peaks, in every assembly and
/// at every knob position: a grid for pictures. Where a curve cannot be computed, or the grid is so
/// fine that it has its peaks, only the request's. Throws Error for a name that the board does not
/// know.
std::vector<double> grid_with_peaks(const Board& board, const SweepRequest& request);

/// Adds frequencies to a grid, ascending. What is nearer to another than a fraction of it is left
/// out.
void merge_frequencies(std::vector<double>& grid_hz, std::span<const double> added_hz,
                       double nearest = 1e-5);

}  // namespace lowhiss
