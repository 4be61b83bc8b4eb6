#pragma once

#include <string>
#include <vector>

#include "lowhiss/promise/check.hpp"

namespace lowhiss {

/// One limit at one knob position with one capsule, to be judged on other boards of the same
/// structure.
struct LimitPlace {
    Limit limit;  ///< at that place alone
    std::string variant;
    std::string capsule;
    double knob = unset;
};

/// The figure of a board there. Unset if it has no such figure or cannot be solved.
struct Judged {
    double value = unset;
    double margin = unset;  ///< 0 or more: met
    double at_hz = unset;   ///< of a mask: its worst frequency
    bool nearer_max = false;
};

/// The places of the verdicts of a board, in their order.
std::vector<LimitPlace> places_of(const std::vector<Verdict>& verdicts,
                                  const std::vector<Limit>& limits);

Judged judge(const LimitPlace& place, const Board& board, const PlanShelf& plans);

/// The change of the figure on this board, which has its variant's changes made, by 1 % of the
/// value of each of these parts (PartSensitivity); for a mask at `at_hz`. Unset without a slope.
std::vector<double> slopes_at(const LimitPlace& place, const Board& assembled,
                              const PlanShelf& plans, const std::vector<std::size_t>& parts,
                              double at_hz);

}  // namespace lowhiss
