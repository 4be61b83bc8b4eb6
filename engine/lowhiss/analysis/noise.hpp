#pragma once

#include <vector>

#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

class Network;

/// Output noise integrated over a band, in V^2, at the output.
struct OutputNoise {
    double power_v2 = 0;
    double a_weighted_v2 = 0;         ///< IEC 61672-1
    double weighted_468_v2 = 0;       ///< ITU-R BS.468-4, root mean square, not quasi-peak
    std::vector<double> by_group_v2;  ///< unweighted, in the circuit's order
};

/// Where curves of the network may be sharp: at its resonances, and where a measured impedance has
/// its points.
std::vector<double> sharp_frequencies_hz(const Network& network);

/// Right to 0.001 dB whatever is plotted.
OutputNoise integrate_noise(Network& network, const Band& band);

}  // namespace lowhiss
