#pragma once

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// Margins of one amplifier's loop; unset where the loop gain does not reach the crossover.
struct LoopMargins {
    int part = -1;                    ///< index into Circuit::parts
    double crossover_hz = unset;      ///< where |T| is 1, of several that of the least margin
    double phase_margin_deg = unset;  ///< at the crossover; negative: the loop is unstable
    double phase_crossover_hz = unset;
    double gain_margin_db = unset;  ///< least, of where T is negative and real and below 1
};

}  // namespace lowhiss
