#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/measure_schema.hpp"
#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// The name that stands for the board without any variant.
inline constexpr std::string_view plain_variant = "plain";

/// One point of a curve that a measure has to stay within; linear over log f in between.
struct MaskPoint {
    double frequency_hz;
    double min;  ///< unset: no bound
    double max;  ///< unset: no bound
};

/// What the board must meet: a measure, where it is taken, and its bounds.
struct Limit {
    std::string name;
    const MeasureSchema* measure = nullptr;  ///< never null in a board
    MeasureArguments arguments;
    std::vector<double> knob;           ///< rotations; empty: every position of the board
    std::vector<std::string> variants;  ///< "plain" for none; empty: all and the plain board
    std::vector<std::string> capsules;  ///< empty: each assembly's own
    double min = unset;                 ///< in the measure's unit; unset: no bound
    double max = unset;
    std::vector<MaskPoint> mask;  ///< instead of min and max
    Position at;
};

/// What the board's [drift] allows a measure instead of the schema's own allowance.
struct Allowance {
    const MeasureSchema* measure;
    Drift drift;
};

}  // namespace lowhiss
