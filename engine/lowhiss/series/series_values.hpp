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
    bool figures = true;  ///< standard figures and gain curves besides the limits
};

/// Callbacks of a long run. Both are called often and from any of its threads, `progress` from one
/// at a time.
struct Watch {
    std::function<void(std::size_t done)> progress = [](std::size_t) {};
    std::function<bool()> stop = [] { return false; };
};

/// One limit at one knob position of one assembly, for each board in the order of the series.
struct LimitValues {
    std::vector<double> values;   ///< in the measure's unit; unset where the figure does not exist
    std::vector<double> margins;  ///< 0 or more: met; unset: not computed
};

/// The results of neighbouring boards of a series: all that the statistics need.
struct SeriesValues {
    std::uint64_t first = 0;  ///< index of the first board
    std::size_t count = 0;    ///< boards computed
    std::vector<LimitValues> limits;
    std::vector<std::vector<double>> figures;
    /// Least and most gain in dB of all boards, by knob position, then frequency; unset where no
    /// board has any.
    std::vector<double> least_db;
    std::vector<double> most_db;
    /// For each board the number of faults of its supply that it does not accept.
    std::vector<double> faults;
    /// Boards that have no solution, by their index, in order; they meet no limit. `why_without` is
    /// the reason of the first one.
    std::vector<std::uint64_t> without_solution{};
    std::string why_without{};
};

/// Frequencies of the gain curves of a series: ten a decade from 20 Hz to 20 kHz.
std::vector<double> response_grid_hz();

/// The drawn board: its limits and figures are those of every board of the series, in the same
/// order.
BoardCheck check_nominal(const Board& board, const SpreadRequest& request);

/// Computes the boards of the series on all cores; the result does not depend on how many. When
/// told to stop, it finishes the boards that have begun, so that the boards computed are always the
/// first ones. A board whose figures cannot be computed misses its limits, and is listed if that is
/// because it has no solution. A limit whose outcome is not known on the nominal board has no
/// margins.
SeriesValues compute_series(const Board& board, const SpreadRequest& request,
                            const BoardCheck& nominal, const Watch& watch = {});

/// Why the board has no solution; empty if it has one.
std::string why_without_solution(const BoardCheck& check);

/// Neighbouring stretches of one series as a whole. Takes no more memory than these have, since
/// each column is freed when it is joined. Throws std::invalid_argument if one does not begin where
/// the one before ends, or has other limits or figures.
SeriesValues joined(std::vector<SeriesValues>&& stretches);

}  // namespace lowhiss
