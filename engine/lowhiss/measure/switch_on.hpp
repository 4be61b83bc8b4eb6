#pragma once

#include <string>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

class Setting;

// Switching on: every source has its full value at once, all capacitors are empty and no inductor
// carries current. From there the circuit comes to rest by its natural frequencies s, in the
// circuit for small signals about the operating point, and the output is off its resting voltage by
// the sum of r e^(s t) with the residues r of relaxation.hpp. A natural frequency that does not
// reach the output has a residue of 0 and does not count. A capacitor that charges to V between a
// source of R and a load of r makes a thump of V r / (r + R), which falls by e in (r + R) C and is
// within 1 % after 4.6 times that.
//
// These are worst cases: a supply that rises slowly, muting, and limiting at the rails reduce the
// thump. Natural frequencies above 20 kHz are left out: their part is over within 8 us.

struct SwitchOn {
    double thump_v = unset;     ///< largest deviation of the output from its resting voltage
    double at_s = unset;        ///< when it is there
    std::string part;           ///< the part whose charging has most of it then; empty without any
    double settling_s = unset;  ///< from then on the deviation is within 1 % of the thump
    /// Time constant of the slowest natural frequency that has 1 % of the thump or more.
    double slowest_s = unset;
};

/// Unset for a circuit without sources, for one with a natural frequency up to 20 kHz that grows,
/// and for one that is too large for relaxation.hpp. Settling is unset too if the output never
/// comes to rest, as behind a capacitor that nothing discharges. A thump below 1 uV settles at
/// once. Throws as operating_point does.
SwitchOn switch_on_of(Setting& setting);

double settling_s(Setting& setting);
double thump_v(Setting& setting);

}  // namespace lowhiss
