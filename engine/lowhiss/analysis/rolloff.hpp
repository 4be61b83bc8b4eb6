#pragma once

#include <vector>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

struct Capsule;
class Network;

// The parts behind the loss of bass, by perfect replacement: the gain is solved again with one
// cause of bass loss, or a set of them, made perfect, and compared with the gain as it is.
//
//   capacitor    perfect: a short (1/C = 0); its series resistance and leakage stay
//   inductor     perfect: infinite inductance, no current through it; what is across it stays
//   transformer  perfect: infinite magnetising inductance k L1, so that i1 + n i2 = 0; its
//                resistances and leakage inductances (1 - k) L1 and (1 - k) n^2 L1 stay
//   capsule      perfect: the resistance that its impedance has at 1 kHz. What this changes at 1
//                kHz is its flat loading, which is no bass loss, and is taken off
//
// Each is a change of rank one of the solved equations, A + m w u^T, with u and w the unit vector
// of the cause's unknown and equation (of a transformer, u is 1 and n for the currents of its
// windings, w is 1 and n (1 - k) for their laws, see Coupling); m is 1/C for a capacitor, infinite
// for an inductance, and Z - R for the capsule. With x and y the solution and the adjoint, the gain
// becomes (Sherman and Morrison, "Adjustment of an inverse matrix corresponding to a change in one
// element of a given matrix", Annals of Mathematical Statistics 21, 1950; Woodbury for a set)
//   g - w^T y (u^T A^-1 w + 1/m)^-1 u^T x.
// It is exact: no part is given a large value.

enum class BassCause { capacitor, inductor, transformer, capsule };

/// The bass loss that one part causes.
struct Rolloff {
    int part;          ///< index into Circuit::parts
    double loss_db;    ///< gain at 20 Hz with the part perfect over the gain with it
    double corner_hz;  ///< where this part alone would cause 3.0103 dB, or unset
    /// False if it takes no bass by its law: a capacitor from the signal to ground, an inductor in
    /// series with the signal, a capsule whose impedance loses less than 0.01 dB more at 20 Hz.
    bool in_the_way;
    BassCause cause = BassCause::capacitor;
};

/// One entry for each capacitor, inductor and transformer of the circuit, and for a capsule whose
/// impedance is no plain resistance, by its part's number. For the corner everything else that is
/// in the way is perfect; it is searched from 1 mHz to 20 kHz, for the capsule to 1 kHz, and found
/// to 1e-9 relative, and is unset where that takes the signal away.
std::vector<Rolloff> bass_rolloff(Network& network, const Capsule* capsule);

/// The causes of the loss of bass at one frequency.
struct BassLoss {
    double frequency_hz = unset;
    double total_db = unset;  ///< gain at 1 kHz over that at the frequency
    /// The causes that explain half of it or more, the largest first; empty if no set does.
    std::vector<Rolloff> causes;
    double together_db = 0;    ///< loss by all of `causes` together
    double most_alone_db = 0;  ///< largest loss by a single one of them

    /// Whether no single part explains half of the loss.
    bool interact() const { return most_alone_db < total_db / 2; }
};

/// The part with the largest loss, with those that lose at least half as much, if these explain
/// half of the loss; else the pair that loses most together, and more parts, each the one that adds
/// most, until half is explained. `rolloff` is that of the same network.
BassLoss bass_loss(Network& network, const Capsule* capsule, const std::vector<Rolloff>& rolloff,
                   double frequency_hz);

}  // namespace lowhiss
