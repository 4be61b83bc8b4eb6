#pragma once

#include <cmath>
#include <cstdint>
#include <optional>
#include <vector>

#include "lowhiss/series/part_effects.hpp"
#include "lowhiss/series/series_values.hpp"

namespace lowhiss {

/// The worst value of a figure that was found in one direction.
struct FoundEnd {
    double value = unset;
    double margin = unset;
    /// The board of the series that has it, if no corner is worse.
    std::optional<std::uint64_t> board;
    std::vector<End> ends;          ///< of a corner: of each draw of FoundWorst
    std::size_t corners_tried = 0;  ///< boards that were solved for it
    bool settled = false;           ///< no other end of any single draw makes the corner worse
};

/// The worst values of a limit's figure that were found, on boards of the series and at corners,
/// where each random number of a board is at one end of its range. It is not proven that there is
/// none worse; there is none if each random number moves the figure one way, wherever the others
/// are.
struct FoundWorst {
    std::vector<Draw> draws;
    FoundEnd lowest;   ///< of a mask: that of least margin
    FoundEnd highest;  ///< of a mask: as `lowest`

    /// Whichever of the two leaves less margin.
    const FoundEnd& worst() const {
        const bool highest_is_worse = std::isnan(lowest.margin) || highest.margin < lowest.margin;
        return highest_is_worse ? highest : lowest;
    }
};

/// One entry for each verdict of the drawn board, in its order.
///
/// The corners are found by local search. Up to six random numbers: all corners. More: from the
/// corner to which their effects on the drawn board lead, from the three worst boards of the series
/// and from ten fixed corners. At each corner the slopes there (adjoint) lead to another; if that
/// is no worse, and for measures without slopes, one end after another is changed, until no single
/// change makes the figure worse. Finally pairs of the eight most important ones are changed. The
/// first start is enough where its corner is, within a tenth, as far from the drawn board as the
/// effects of single draws add up to. After 200 corners, and 8 more for each random number, the
/// search ends where it is. A null that a corner meets by chance can be missed. The result depends
/// on board, limits and series alone.
std::vector<FoundWorst> find_worst(const Board& board, const SpreadRequest& request,
                                   const BoardCheck& nominal,
                                   const std::vector<LimitEffects>& effects,
                                   const SeriesValues& series);

/// The board that has the figure.
Board board_of(const Board& board, const BoardSeries& series, const FoundWorst& found,
               const FoundEnd& end);

}  // namespace lowhiss
