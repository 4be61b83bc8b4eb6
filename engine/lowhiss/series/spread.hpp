#pragma once

#include <cstdint>
#include <vector>

#include "lowhiss/series/part_effects.hpp"
#include "lowhiss/series/room.hpp"
#include "lowhiss/series/series_values.hpp"
#include "lowhiss/series/statistics.hpp"
#include "lowhiss/series/variance_shares.hpp"
#include "lowhiss/series/worst_search.hpp"

namespace lowhiss {

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
    Room room;
    LimitEffects parts;     ///< their effects on it
    VarianceShares shares;  ///< of these effects
    FoundWorst found;
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
    Yield yield;  ///< boards that have a solution and no fault of the supply, and meet every limit
    std::size_t faulty_boards = 0;                ///< boards with a fault of the supply
    std::vector<PlacedFault> faults;              ///< of the nominal board, none of them accepted
    std::vector<std::uint64_t> without_solution;  ///< by index, in order
    std::string why_without;                      ///< of the first one
    std::vector<LimitSpread> limits;
    std::vector<FigureSpread> figures;
    FigureSlopes slopes;  ///< of the figures, in their order
    Envelope response;
};

/// The statistics of a series that has been computed, here or elsewhere, with the worst boards that
/// are found from it and the shares of its variance. `nominal`, `effects` and `slopes` are those of
/// the drawn board; the request's `first` and `count` are those of `series`.
Spread spread_from(const Board& board, const SpreadRequest& request, const BoardCheck& nominal,
                   const std::vector<LimitEffects>& effects, const FigureSlopes& slopes,
                   SeriesValues series);

/// Computes every board of the series and the effects of its parts; when told to stop, of the
/// boards that are done by then.
Spread spread_of(const Board& board, const SpreadRequest& request, const Watch& watch = {});

/// The limit with the least room; null if no board has a margin to any.
const LimitSpread* least_room(const Spread& spread);

Yield yield_of(std::size_t good, std::size_t count);

/// The share of the boards of a series that have a solution and no fault, and meet every limit.
Yield yield_of_boards(const Board& board, const SpreadRequest& request, const Watch& watch = {});

}  // namespace lowhiss
