#pragma once

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// Margins of one amplifier's loop; unset where the loop gain does not reach the crossover.
struct LoopMargins {
    int part = -1;                    ///< index into Circuit::parts
    double crossover_hz = unset;      ///< where |T| is 1; of several the one with the least margin
    double phase_margin_deg = unset;  ///< at the crossover; negative past -180 degrees
    double phase_crossover_hz = unset;  ///< where T is real and negative, with the least margin
    double gain_margin_db = unset;      ///< there, the gain that is missing to |T| = 1
};

}  // namespace lowhiss
