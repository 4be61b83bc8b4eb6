#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/registry.hpp"

namespace lowhiss {

/// The name that stands for the board without any variant.
inline constexpr std::string_view plain_variant = "plain";

/// One point of a curve that a measure has to stay within; linear over log f in between.
struct MaskPoint {
    double frequency_hz;
    double min;  ///< unset: no bound
    double max;  ///< unset: no bound
};

/// A promise of the board: a measure, where it is taken, and what it has to be.
struct Limit {
    std::string name;
    const MeasureRecord* measure = nullptr;
    MeasureArguments arguments;
    std::vector<double> knob;           ///< rotations; empty: every position of the board
    std::vector<std::string> variants;  ///< "plain" for none; empty: all and the plain board
    std::vector<std::string> capsules;  ///< empty: each assembly's own
    double min = unset;                 ///< in the measure's unit; unset: no bound
    double max = unset;
    std::vector<MaskPoint> mask;  ///< instead of min and max
    Position at;
};

/// Reads what [[limit]] tables say, and the files of their masks. All mistakes are reported.
std::vector<Limit> read_limits(const Board& board, const FileReader& reader, Diagnostics& out);

}  // namespace lowhiss
