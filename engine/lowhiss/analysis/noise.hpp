#pragma once

#include <vector>

#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

// Integrated noise: gets a network and a band, gives the noise power at the output.

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
std::vector<double> sharp_frequencies_hz(const Network& network);

/// The same, and frequencies on both sides of each resonance, half of its half-width apart and
/// more: a phase has its extremes there.
std::vector<double> flank_frequencies_hz(const Network& network);

/// Accurate to 0.001 dB, independent of any frequency grid.
OutputNoise integrate_noise(Network& network, const Band& band);

}  // namespace lowhiss
