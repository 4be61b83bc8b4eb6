#pragma once

#include <cstdint>

#include "lowhiss/series/draw.hpp"

namespace lowhiss {

/// The distribution of values within a tolerance: uniform, or normal with the ends at three sigma
/// and cut off there. If the ends differ in size, it is the two-piece normal distribution, whose
/// density has its peak, without a step, at the drawn value (Wallis, "The two-piece normal,
/// binormal, or double Gaussian distribution", Statistical Science 29, 2014).
enum class Distribution { uniform, normal };

/// A series of random boards; each has a number, from 0.
struct BoardSeries {
    std::uint64_t seed = 1;
    Distribution distribution = Distribution::uniform;
};

/// Board `index` of the series:
///
///   parts         the main value of every resistor, capacitor, inductor and potentiometer deviates
///                 by a random part of its tolerance. Parts of a matched group have one deviation
///                 in common, and one of their own within the group's bound.
///   temperature   one for the board, uniform over its range. Thermal noise follows it, and every
///                 main value is multiplied by 1 + coefficient x (temperature - the drawn
///                 board's). A coefficient with two ends is drawn for each part, once for a
///                 matched group.
///   models        each part whose model has `worst` figures gets a copy of its own, with every
///                 such figure between typical and worst (ratios in decibels): uniform, or half a
///                 normal distribution with its peak at typical and worst at three sigma.
///
/// The random numbers depend on seed, index and the name of the part (and figure) alone (Philox,
/// Salmon et al., "Parallel random numbers: as easy as 1, 2, 3", SC 2011). So a board of the series
/// does not depend on which others are computed, nor do parts on others that are added. A part and
/// its change by a variant have the same deviation.
Board random_board(const Board& board, const BoardSeries& series, std::uint64_t index);

/// The value of this draw on board `index` of the series, within its range.
double drawn_by(const BoardSeries& series, std::uint64_t index, const Draw& draw);

}  // namespace lowhiss
