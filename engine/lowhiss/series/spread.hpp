#pragma once

#include <cstdint>
#include <vector>

#include "lowhiss/series/part_effects.hpp"
#include "lowhiss/series/series_values.hpp"

namespace lowhiss {

/// What a figure is on all boards of the series that have it.
struct Statistics {
    double nominal = unset;  ///< of the board as it is drawn
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

struct FigureSpread {
    Figure figure;  ///< which, and of the board as it is drawn
    Statistics statistics;
};

/// The share of boards, with its interval of 95 % confidence (Clopper and Pearson 1934).
struct Yield {
    std::size_t good = 0;
    std::size_t count = 0;
    double share = unset;
    double low = unset;
    double high = unset;
};

/// One limit at one place, over the boards.
struct LimitSpread {
    Verdict nominal;
    Yield yield;
    Statistics statistics;
    std::vector<double> values;     ///< of each board, in the order of the series
    std::uint64_t worst_board = 0;  ///< of least margin
    LimitEffects parts;             ///< which move it
};

/// Between which curves the gain of all boards lies.
struct Envelope {
    std::vector<double> frequency_hz;
    std::vector<double> knob;  ///< positions; one unset where there is no knob
    // Gains in dB, by knob position, then frequency; unset where there are none.
    std::vector<double> nominal_db;
    std::vector<double> least_db;
    std::vector<double> most_db;
};

struct Spread {
    Yield yield;  ///< boards that meet every limit
    std::vector<LimitSpread> limits;
    std::vector<FigureSpread> figures;
    FigureSlopes slopes;  ///< of the figures, in their order
    Envelope response;
};

/// The statistics of values that are there, computed here or elsewhere; `nominal`, `effects` and
/// `slopes` are of the board that they strayed from.
Spread spread_from(const BoardCheck& nominal, const std::vector<LimitEffects>& effects,
                   const FigureSlopes& slopes, const SeriesValues& series);

/// Computes every board of the series, and what its parts do. Told to stop, it is the spread of the
/// boards that were done.
Spread spread_of(const Board& board, const SpreadRequest& request, const Watch& watch = {});

Yield yield_of(std::size_t good, std::size_t count);

/// Statistics of values in the order of the series; what is not finite is left out. Percentiles are
/// interpolated between the ranks (Hyndman and Fan 1996, definition 7).
Statistics statistics_of(const std::vector<double>& values, std::uint64_t first_board);

}  // namespace lowhiss
