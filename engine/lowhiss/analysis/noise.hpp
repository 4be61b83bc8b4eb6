#pragma once

#include <vector>

#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

// Integrated noise: takes a network and a band and returns the noise power at the output.

class Network;

/// Output noise integrated over a band, in V^2.
struct OutputNoise {
    double power_v2 = 0;
    double a_weighted_v2 = 0;         ///< IEC 61672-1
    double weighted_468_v2 = 0;       ///< ITU-R BS.468-4, mean square, not quasi-peak
    std::vector<double> by_group_v2;  ///< unweighted, in the order of Circuit::noise_groups
};

/// Frequencies at which the response may bend sharply: resonances, and the points of a measured
/// impedance.
std::vector<double> sharp_frequencies_hz(Network& network);

/// The same, and frequencies on both sides of each resonance, half of its half-width apart and
/// more: a phase has its extremes there.
std::vector<double> flank_frequencies_hz(Network& network);

/// Accurate to 0.001 dB, independent of any frequency grid.
OutputNoise integrate_noise(Network& network, const Band& band);

/// The noise of a single group is right to 0.001 dB where its uncertainty is below this.
inline constexpr double most_noise_uncertainty = 2.3e-4;

/// How much rounding may change the noise power of each group in the band, relative to that power;
/// not finite if the power is nothing but rounding. Found from the change of the adjoint by random
/// changes of its equations as large as rounding, at both ends of the band and in its middle.
std::vector<double> noise_uncertainty(Network& network, const Band& band);

}  // namespace lowhiss
