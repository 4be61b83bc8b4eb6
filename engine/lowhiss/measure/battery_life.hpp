#pragma once

#include <string>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The time that a board runs on full batteries, and what ends it.
struct BatteryLife {
    enum class End { empty, amplifier_starved, regulator_out };

    double hours = unset;  ///< unset without a battery that delivers current
    End end = End::empty;
    std::string part;  ///< the battery that is empty, the amplifier, the regulator or converter
    double spent = 1;  ///< fraction of the batteries' charge that is spent by then
};

/// The life is
///   integral over the spent charge q, 0 to 1 or to where it ends, of dq / max(I_b(q) / C_b),
/// over the batteries b of current I and capacity C, whose voltage falls with q as `Battery` says.
/// It ends at q = 1, or where an amplifier has less than its smallest supply or no reach, or a
/// regulator or converter drops out, unless the board accepts that fault. With several batteries
/// all are taken to be as spent as the one that is drained fastest: the life is then a lower bound.
/// Boole's rule on each half of the charge: exact for a constant current or a constant power,
/// within 1e-5 for resistors. The end is found by bisection, to 1e-6 of the charge.
/// Throws as operating_point does.
BatteryLife battery_life(const Board& assembled, double rotation, const Capsule* capsule);

/// "until BT1 is empty", "until PS1 drops out, with 51 % of the charge spent"
std::string end_text(const BatteryLife& life);

}  // namespace lowhiss
