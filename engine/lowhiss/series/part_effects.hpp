#pragma once

#include <string>
#include <vector>

#include "lowhiss/promise/check.hpp"
#include "lowhiss/series/draw.hpp"

namespace lowhiss {

/// The change of a figure with one random number of the board at the ends of its range, all others
/// as drawn, and by 1 % of the value of a part or matched group (PartSensitivity).
struct PartEffect {
    Draw draw;
    double at_low_end = 0;  ///< in the figure's unit
    double at_high_end = 0;
    double per_percent = unset;
};

/// The effects of all random numbers on one limit's figure; on its margin if it is a mask, whose
/// values are at different frequencies.
struct LimitEffects {
    std::vector<PartEffect> effects;  ///< largest first
};

/// Solves the board with one random number after another at both ends of its range. One entry for
/// each verdict of the drawn board, in its order. The result depends on that board and the limits,
/// not on any series. `variant` "" is the plain board.
std::vector<LimitEffects> find_effects(const Board& board, const std::string& variant,
                                       const std::vector<Limit>& limits,
                                       const std::vector<Verdict>& nominal);

/// The board with its variant's changes made and no changes left, so that each part is there once.
Board assembled_board(const Board& board, const std::string& variant);

/// The places in the board's list of the fitted parts whose value deviates.
std::vector<std::size_t> loose_parts(const Board& assembled);

/// The slope of a draw from the slopes of these parts: that of its part, or the sum over all parts
/// of its group; unset for other draws.
double slope_of_draw(const Draw& draw, const Board& assembled,
                     const std::vector<std::size_t>& parts, const std::vector<double>& slopes);

/// The figure whose changes are the effects: the value or, for a mask, the margin.
inline double figure_of(bool is_mask, double value, double margin) {
    return is_mask ? margin : value;
}

/// The change of the drawn board's standard figures by 1 % of each part's value (PartSensitivity).
struct FigureSlopes {
    std::vector<std::string> parts;  ///< those with a tolerance
    std::vector<std::vector<double>>
        per_percent;  ///< by figure, then part; unset where there is none
};
FigureSlopes find_slopes(const Board& board, const std::string& variant,
                         const std::vector<Figure>& nominal);

}  // namespace lowhiss
