#pragma once

#include "lowhiss/series/series_values.hpp"

namespace lowhiss {

/// How far the boards of a series are from a limit, from their own margins. The drawn board does
/// not count: its figure may be the best there is.
struct Room {
    std::size_t failing = 0;  ///< boards that do not meet the limit, or have no such figure
    double mean = unset;      ///< margins, in the figure's unit
    double sigma = unset;
    double percentile_1 = unset;  ///< 99 % of the boards have at least this margin

    /// Mean over sigma.
    double sigmas() const { return mean / sigma; }

    /// The margin of the median board over its distance from the first percentile, in sigmas of a
    /// normal distribution: for that it equals `sigmas`, and it is fair to skew ones too.
    double depth = unset;
};

Room room_of(const LimitValues& limit);

/// More boards that fail, or else fewer sigmas on the side of the limit.
bool has_less_room(const Room& a, const Room& b);

}  // namespace lowhiss
