#pragma once

#include <string>
#include <vector>

#include "lowhiss/promise/check.hpp"

namespace lowhiss {

/// The change of a figure with one part at the ends of its tolerance, and by 1 % more of its value
/// (PartSensitivity).
struct PartEffect {
    std::string part;
    Tolerance tolerance;
    double at_low_end = 0;  ///< in the figure's unit
    double at_high_end = 0;
    double per_percent = unset;
};

/// Each part's share of the figure's variance, 0 to 1: (width of its effect)^2 over the sum, for
/// independent parts with uniform values and a figure that is linear in each. Not finite where the
/// figure does not exist at an end. Matched groups, temperature and worst figures are not included.
std::vector<double> shares_of_variance(const std::vector<PartEffect>& effects);

/// The effects of all parts on one limit's figure.
struct LimitEffects {
    std::vector<PartEffect> effects;  ///< parts with a tolerance, largest first
    double worst_case_low = unset;    ///< with every part at the end that lowers the figure
    double worst_case_high = unset;
};

/// Solves the board with one part after another at both ends of its tolerance, then with all parts
/// at the ends that lower the figure, and with all at those that raise it: by the sign of the
/// sensitivity or, without one, of the effect. One entry for each verdict of the drawn board, in
/// its order; it depends on that board and the limits, not on any series. `variant` "" is the plain
/// board.
std::vector<LimitEffects> find_effects(const Board& board, const std::string& variant,
                                       const std::vector<Limit>& limits,
                                       const std::vector<Verdict>& nominal);

/// The change of the drawn board's standard figures by 1 % more of each part's value
/// (PartSensitivity).
struct FigureSlopes {
    std::vector<std::string> parts;  ///< those with a tolerance
    std::vector<std::vector<double>>
        per_percent;  ///< by figure, then part; unset where there is none
};
FigureSlopes find_slopes(const Board& board, const std::string& variant,
                         const std::vector<Figure>& nominal);

}  // namespace lowhiss
