#pragma once

#include <cstdint>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// How parts stray within their tolerance: evenly, or normally with each end as three sigma, what
/// is beyond it being sorted out. Where the ends differ, that is the two-piece normal distribution,
/// whose density has its peak, and no step, at the value of the drawing (Wallis, "The two-piece
/// normal, binormal, or double Gaussian distribution", Statistical Science 29, 2014).
enum class Straying { even, normal };

/// A series of boards as they come from the bench, each with a number of its own.
struct BoardSeries {
    std::uint64_t seed = 1;
    Straying straying = Straying::even;
};

/// Board `index` of the series:
///
///   parts         the main value of every resistor, capacitor, inductor and potentiometer is off
///                 by a random part of its tolerance. Parts of a matched group stray by one number
///                 for the group, plus one of their own within the group's bound.
///   temperature   one for the board, evenly from its range: of all thermal noise, and every main
///                 value is multiplied by 1 + coefficient x (temperature - the drawn board's). A
///                 coefficient between two ends is drawn for each part, once for a matched group.
///   models        each part whose model has `worst` figures gets a copy of its own, every such
///                 figure between typical and worst, ratios in decibels: evenly, or by half a bell
///                 curve from the typical one on, worst at three sigma.
///
/// What is drawn depends on seed, index and the name of the part (and figure) alone (Philox, Salmon
/// et al., "Parallel random numbers: as easy as 1, 2, 3", SC 2011): the same board whatever is
/// computed beside it, and the other parts keep theirs when one is added. A part that a variant
/// changes strays as its name does.
Board random_board(const Board& board, const BoardSeries& series, std::uint64_t index);

}  // namespace lowhiss
