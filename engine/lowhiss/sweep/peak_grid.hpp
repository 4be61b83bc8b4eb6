#pragma once

#include <span>
#include <vector>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss {

/// The request's frequencies and those at which its curves have their peaks, in every assembly and
/// at every knob position: a grid for pictures. Nothing is added for a curve that cannot be
/// computed, or whose peaks the grid already has. Throws Error for a name that the board does not
/// know.
std::vector<double> grid_with_peaks(const Board& board, const SweepRequest& request);

/// Adds frequencies to a grid, ascending. A frequency within a fraction `nearest` of another is
/// left out.
void merge_frequencies(std::vector<double>& grid_hz, std::span<const double> added_hz,
                       double nearest = 1e-5);

}  // namespace lowhiss
