#pragma once

#include <vector>

namespace lowhiss {

class Network;

/// The bass loss that one capacitor causes.
struct Rolloff {
    int part;          ///< index into Circuit::parts
    double loss_db;    ///< gain with the capacitor shorted over the gain, at 20 Hz
    double corner_hz;  ///< where this capacitor alone would cause 3.0103 dB, or unset
    bool in_the_way;   ///< false if the signal does not pass through it, as to ground
};

/// One entry for each capacitor of the circuit, in its order. A shorted capacitor is exact, a
/// rank-one change of the solved equations (Sherman and Morrison 1950), not a large value. For the
/// corner every other capacitor in the signal path is shorted; it is searched from 1 mHz to 20 kHz
/// and found to 1e-9 relative, and is unset where that takes the signal away.
std::vector<Rolloff> bass_rolloff(Network& network);

}  // namespace lowhiss
