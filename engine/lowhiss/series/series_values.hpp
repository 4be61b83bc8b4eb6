#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "lowhiss/promise/check.hpp"
#include "lowhiss/series/random_board.hpp"

namespace lowhiss {

struct SpreadRequest {
    BoardSeries series;
    std::uint64_t first = 0;  ///< index of the first board
    std::size_t count = 1000;
    std::string variant;  ///< empty: the plain board
    std::vector<Limit> limits;
};

/// What a long run tells and asks meanwhile, often and from any of its threads, `progress` from one
/// at a time.
struct Watch {
    std::function<void(std::size_t done)> progress = [](std::size_t) {};
    std::function<bool()> stop = [] { return false; };
};

/// One limit at one place, on each board in the order of the series.
struct LimitValues {
    std::vector<double> values;   ///< in the measure's unit; unset where there is none
    std::vector<double> margins;  ///< 0 or more: met; unset: could not be computed
};

/// What the boards of a stretch of a series have come out as: all that statistics need.
struct SeriesValues {
    std::uint64_t first = 0;  ///< index of the first board
    std::size_t count = 0;    ///< boards that are done
    std::vector<LimitValues> limits;
    std::vector<std::vector<double>> figures;
    /// Least and most gain in dB of all boards, by knob position, then frequency; unset where no
    /// board has any.
    std::vector<double> least_db;
    std::vector<double> most_db;
};

/// Where the gain curves of a series are taken: ten to a decade, 20 Hz to 20 kHz.
std::vector<double> response_grid_hz();

/// The board as it is drawn: the limits and figures that every board of its series has, in the
/// order in which SeriesValues has them.
BoardCheck check_nominal(const Board& board, const SpreadRequest& request);

/// Computes the boards of the series on all cores; the result does not depend on how many. Told to
/// stop, it finishes the boards it is at: what is done is always the beginning of what was asked. A
/// board whose figures cannot be computed misses its limits.
SeriesValues compute_series(const Board& board, const SpreadRequest& request,
                            const BoardCheck& nominal, const Watch& watch = {});

/// Puts the next stretch of the same series behind one. Throws std::invalid_argument where it does
/// not begin where the other ends, or has other limits or figures.
void append(SeriesValues& series, const SeriesValues& next);

}  // namespace lowhiss
