#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/measure/part_rolloff.hpp"
#include "lowhiss/measure/standard_figures.hpp"

namespace lowhiss {

class Assembly;

/// The noise of a part over the audio band, referred to the input: output noise over |gain| at
/// 1 kHz.
struct InputNoise {
    std::string part;
    double input_v;
    double share;  ///< of the output noise power, 0 to 1
};

/// One board at one of the positions that are compared.
struct ComparedPosition {
    bool reached = true;          ///< false: no rotation is near the gain that was asked for
    double nearest_db = unset;    ///< the nearest gain, where that one is not reached exactly
    double rotation = unset;      ///< unset without a knob
    std::vector<Figure> figures;  ///< the standard ones of a position, in their order
    std::vector<AssumedIdeal> assumes_ideal;  ///< the figures that are best cases
    std::vector<InputNoise> noise;            ///< largest first
    std::vector<PartRolloff> rolloff;         ///< in the board's order
};

struct CompareRequest {
    std::vector<const Board*> boards;  ///< with the changes of a variant made already
    std::vector<double> knob;          ///< rotations, for all boards
    std::vector<double> gain_db;  ///< gains at 1 kHz instead, to which each board's knob is turned
};

/// A board that does not reach a requested gain is compared at its nearest gain if that is no
/// farther off than this.
inline constexpr double near_gain_db = 0.5;

/// For each board, each position in the request's order, with the board's own capsule. Positions of
/// all boards are shared among the machine's cores. Throws Error where a circuit has no unique
/// solution.
std::vector<std::vector<ComparedPosition>> compare(const CompareRequest& request);

/// The rotation at which the gain at 1 kHz is `gain_db`, the first from the counter-clockwise end
/// on a scan of 100 steps, to 1e-9; unset if there is none. An end of the knob that misses the gain
/// by less than 0.005 dB, which is not visible in print, counts.
double rotation_at_gain(Assembly& assembly, double gain_db);

}  // namespace lowhiss
