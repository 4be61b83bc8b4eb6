#pragma once

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// Margins of the loop about one amplifier or transistor; unset where the loop gain T does not
/// reach the crossover.
///
/// The critical point is T = -1. Where |T| = 1 the phase margin is what T may turn, either way,
/// before it is -1: 180 degrees less |arg T|, and above 0 in a stable circuit. In a circuit that is
/// not stable the direction of the crossing gives the sign: 180 degrees plus arg T where |T| falls
/// with frequency, less arg T where it rises, into (-180, 180]. Where T is real and negative the
/// gain margin is 1/|T|, in dB: what |T| may grow before T is -1. Below 0 dB in a stable circuit it
/// is what |T| may shrink: the loop is conditionally stable. If there are several crossings, the
/// least margin counts. Astrom and Murray, "Feedback Systems", 2008, section 9.3, and Ogata,
/// "Modern Control Engineering", on phase and gain margins and conditionally stable systems; both
/// from memory.
struct LoopMargins {
    int part = -1;                      ///< index into Circuit::parts
    double crossover_hz = unset;        ///< where |T| is 1, of several that with the least margin
    double phase_margin_deg = unset;    ///< there
    double phase_crossover_hz = unset;  ///< where T is real and negative, with the least margin
    double gain_margin_db = unset;      ///< there
};

}  // namespace lowhiss
