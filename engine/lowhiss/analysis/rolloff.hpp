#pragma once

#include <vector>

namespace lowhiss {

class Network;

/// What one capacitor costs in the bass at one knob position.
struct Rolloff {
    int part;          ///< index into Circuit::parts
    double loss_db;    ///< gain with its capacitance shorted over gain with it, at 20 Hz
    double corner_hz;  ///< where it alone would take 3.0103 dB, or unset
    bool in_the_way;   ///< false: shorting it stops the signal, as of a capacitor to ground
};

/// One entry for each capacitor of the circuit, in its order. Shorting is exact: a change of rank
/// one of the solved equations (Sherman and Morrison 1950), no large value put in. For the corner
/// alone, every other capacitor that is in the way of the signal is shorted; it is searched from
/// 1 mHz to 20 kHz and found to 1e-9 relative.
std::vector<Rolloff> bass_rolloff(Network& network);

}  // namespace lowhiss
