#pragma once

#include <cstdint>
#include <vector>

#include "lowhiss/series/part_effects.hpp"
#include "lowhiss/series/series_values.hpp"

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

struct FigureSpread {
    Figure figure;  ///< of the drawn board
    Statistics statistics;
};

/// A share of boards, with its 95 % confidence interval (Clopper and Pearson, "The use of
/// confidence or fiducial limits", Biometrika 26, 1934).
struct Yield {
    std::size_t good = 0;
    std::size_t count = 0;
    double share = unset;
    double low = unset;
    double high = unset;
};

/// One limit at one knob position of one assembly, over the boards.
struct LimitSpread {
    Verdict nominal;
    Yield yield;
    Statistics statistics;
    std::vector<double> values;     ///< of each board, in the order of the series
    std::uint64_t worst_board = 0;  ///< that of least margin
    LimitEffects parts;             ///< their effects on it
};

/// The range of the gain over all boards.
struct Envelope {
    std::vector<double> frequency_hz;
    std::vector<double> knob;  ///< positions; one unset where there is no knob
    // Gains in dB, by knob position, then frequency; unset where there are none.
    std::vector<double> nominal_db;
    std::vector<double> least_db;
    std::vector<double> most_db;
};

struct Spread {
    Yield yield;  ///< boards that have a solution and meet every limit
    std::vector<std::uint64_t> without_solution;  ///< by index, in order
    std::string why_without;                      ///< of the first one
    std::vector<LimitSpread> limits;
    std::vector<FigureSpread> figures;
    FigureSlopes slopes;  ///< of the figures, in their order
    Envelope response;
};

/// The statistics of a series that has been computed, here or elsewhere; `nominal`, `effects` and
/// `slopes` are those of the drawn board.
Spread spread_from(const BoardCheck& nominal, const std::vector<LimitEffects>& effects,
                   const FigureSlopes& slopes, SeriesValues series);

/// Computes every board of the series and the effects of its parts; when told to stop, of the
/// boards that are done by then.
Spread spread_of(const Board& board, const SpreadRequest& request, const Watch& watch = {});

Yield yield_of(std::size_t good, std::size_t count);

/// Statistics of values in the order of the series; those that are not finite are left out.
/// Percentiles are interpolated between the ranks (Hyndman and Fan, "Sample quantiles in
/// statistical packages", American Statistician 50, 1996, definition 7).
Statistics statistics_of(const std::vector<double>& values, std::uint64_t first_board);

}  // namespace lowhiss
