#pragma once

#include <string>
#include <vector>

#include "lowhiss/promise/check.hpp"

namespace lowhiss {

/// How far one part alone moves a figure when it stands at the ends of its tolerance, and what 1 %
/// more of its value does by the adjoint (PartSensitivity).
struct PartEffect {
    std::string part;
    Tolerance tolerance;
    double at_low_end = 0;  ///< in the figure's unit
    double at_high_end = 0;
    double per_percent = unset;
};

/// The share of each part in the figure's variance when parts stray alone, evenly between their
/// ends, and the figure goes straight from one to the other: (width of its effect)^2 over the sum.
/// Not finite where the figure does not exist at an end. Matched groups, temperature and worst
/// figures are not in it.
std::vector<double> shares_of_variance(const std::vector<PartEffect>& effects);

/// What the parts do to one limit's figure.
struct LimitEffects {
    std::vector<PartEffect> effects;  ///< parts with a tolerance, largest first
    double worst_case_low = unset;    ///< with every part at the end that lowers the figure
    double worst_case_high = unset;
};

/// One part after another at both ends of its tolerance, then all of them at the end that moves
/// the figure down, and up: which end that is says the sign of the sensitivity, or where there is
/// none, of the effect. All by real solutions. One entry for each verdict of the drawn board, in
/// its order; depends on that board and the limits alone, not on any series. `variant` "" is the
/// plain board.
std::vector<LimitEffects> find_effects(const Board& board, const std::string& variant,
                                       const std::vector<Limit>& limits,
                                       const std::vector<Verdict>& nominal);

/// What 1 % more of each part's value does to the standard figures of the drawn board
/// (PartSensitivity).
struct FigureSlopes {
    std::vector<std::string> parts;  ///< those with a tolerance
    std::vector<std::vector<double>>
        per_percent;  ///< by figure, then part; unset where there is none
};
FigureSlopes find_slopes(const Board& board, const std::string& variant,
                         const std::vector<Figure>& nominal);

}  // namespace lowhiss
