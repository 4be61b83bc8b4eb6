#pragma once

#include <utility>
#include <variant>
#include <vector>

#include "lowhiss/fit/fit_result.hpp"

namespace lowhiss {

/// A potentiometer by the resistance from its counter-clockwise end to the wiper.
struct TaperFit {
    double resistance_ohm = unset;  ///< of the track without the end; unset if given as fractions
    double end_resistance_ohm = unset;              ///< likewise
    std::vector<std::pair<double, double>> points;  ///< rotation and fraction of the track, 0 to 1
};

/// The table of positions (rotation 0 to 1, and the resistance in ohm, or the fraction of the
/// track) in ascending order. A problem: fewer than three positions, a rotation out of order or
/// twice, rotations that do not go from 0 to 1, fractions that do not, or a track that falls or has
/// no resistance.
std::variant<TaperFit, FitProblem> fit_taper(
    const std::vector<std::pair<double, double>>& positions, bool in_ohm);

}  // namespace lowhiss
