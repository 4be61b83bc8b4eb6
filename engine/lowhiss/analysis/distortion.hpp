#pragma once

#include <span>
#include <vector>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/bias/curvature.hpp"

namespace lowhiss {

// Distortion: takes a network and the curved laws of its elements, and returns the second and third
// harmonic of a small sine, by the method of nonlinear currents (Volterra series; Bussgang, Ehrman
// and Graham, "Analysis of nonlinear systems with multiple inputs", Proceedings of the IEEE 62,
// 1974, from memory). Each curved law drives the linear circuit with a source that its derivatives
// and the voltages of lower order determine:
//
//   second order, at 2f:  1/2 f_pq p1 q1
//   third order,  at 3f:  1/6 f_pqr p1 q1 r1  and  f_pq p1 q2
//
// with p1 at f and q2 the voltages that the second order causes at 2f. What the second order
// causes at 0 Hz mixes back to the fundamental alone, so that neither harmonic depends on it.

/// The part that one part of the circuit has in the harmonics of the output.
struct PartHarmonics {
    int part;        ///< index into Circuit::parts
    Complex second;  ///< output volts at 2f over the square of the electromotive force
    Complex third;   ///< output volts at 3f over its cube
};

/// Peak values throughout, for an electromotive force of cos 2 pi f t times its size.
struct Harmonics {
    Complex gain;  ///< at f
    Complex second;
    Complex third;
    std::vector<PartHarmonics> by_part;  ///< in the order of the circuit; their sums are the above
};

/// The harmonics to the lowest order in the electromotive force, exact in the limit of a small one.
/// Throws as Network::respond, also at 2f and 3f.
Harmonics harmonics_of(Network& network, std::span<const CurvedLaw> laws, double frequency_hz);

}  // namespace lowhiss
