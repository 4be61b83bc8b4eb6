#pragma once

#include <vector>

#include "lowhiss/series/part_effects.hpp"
#include "lowhiss/series/series_values.hpp"

namespace lowhiss {

/// How the variance of a limit's figure over the boards of a series divides among the random
/// numbers of a board.
struct VarianceShares {
    enum class Method {
        effects,  ///< by the effect of each alone on the drawn board
        exchange  ///< by exchanging each between boards of the series
    };
    Method method = Method::effects;

    /// The share of the series' variance that the effects of each alone explain, as straight lines.
    /// Unset without a variance, and of fewer than 16 boards.
    double explained = unset;

    std::vector<double> shares;  ///< 0 to 1; of each of the limit's effects, in their order

    /// With Method::exchange: the effects that matter, largest share first, and the share that they
    /// have together. Each share includes what its draw does together with others, so that the sum
    /// may exceed 1.
    std::vector<std::size_t> together;
    double together_share = unset;

    std::size_t boards_solved = 0;  ///< beside those of the series
};

/// One entry for each verdict of the drawn board, in its order.
///
/// Effects: the figure as a sum of straight lines, each through its values at the ends of one draw
/// with all others as drawn; a share is the variance of one line over that of all. If that sum
/// leaves more than a fifth of the variance of the series unexplained, the shares are total effects
/// instead, E(Var(y | all but one)) / Var(y), by the estimator of Jansen ("Analysis of variance
/// designs for model output", Computer Physics Communications 117, 1999; Saltelli et al.,
/// "Variance based sensitivity analysis of model output", the same 181, 2010, table 2): half the
/// mean square of the change of the figure if one draw of a board is exchanged for that of another,
/// over 16 to 64 boards of the series. With 32 boards the standard error of a share is about a
/// quarter of it.
std::vector<VarianceShares> find_shares(const Board& board, const SpreadRequest& request,
                                        const BoardCheck& nominal,
                                        const std::vector<LimitEffects>& effects,
                                        const SeriesValues& series);

}  // namespace lowhiss
