#pragma once

#include <cstdint>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// How parts stray within their tolerance: evenly, or normally with the tolerance as three sigma,
/// what is beyond it being sorted out.
enum class Straying { even, normal };

/// A series of boards as they come from the bench, each with a number of its own.
struct BoardSeries {
    std::uint64_t seed = 1;
    Straying straying = Straying::even;
};

/// Board `index` of the series: the main value of every resistor, capacitor, inductor and
/// potentiometer off by a random part of its tolerance. What a part gets depends on seed, index and
/// its name alone (Philox, Salmon et al., "Parallel random numbers: as easy as 1, 2, 3", SC 2011):
/// the same board whatever is computed beside it, and the other parts keep theirs when one is
/// added. A part that a variant changes strays as its name does. Parts of a matched group stray by
/// one number for the group, plus one of their own within the group's bound.
Board random_board(const Board& board, const BoardSeries& series, std::uint64_t index);

/// The part's main value, off by a fraction of itself. The part must have a tolerance.
void stray(Part& part, double deviation);

/// The part's tolerance, as a fraction; 0 for one that has none.
double tolerance_of(const Part& part);

}  // namespace lowhiss
