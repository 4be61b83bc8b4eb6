#pragma once

#include <span>
#include <vector>

#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

/// How the value p of one part enters a circuit: d/d ln p of its equations and noise densities.
struct ValueSlope {
    struct Entry {
        int row;
        int column;
        double g;
        double c;
    };
    struct Density {
        std::size_t source;  ///< index into Circuit::noise
        double white;
    };
    std::vector<Entry> entries;
    std::vector<Density> densities;
    bool known = true;  ///< false where the value decides about the structure
};

/// From the circuit as it is and the same with p times e^step: exact to rounding over the step and
/// to half the step, in parts of the whole.
ValueSlope value_slope(const Circuit& circuit, const Circuit& moved, double step);

/// What the value of each part does at one frequency.
struct Sensitivity {
    double frequency_hz = 0;
    std::vector<Complex> gain;        ///< d ln gain / d ln p
    std::vector<double> noise_v2_hz;  ///< d (output noise density) / d ln p
    double output_noise_v2_hz = 0;
};

/// By the adjoint, without solving any other circuit (Director and Rohrer, "The generalized adjoint
/// network and network sensitivities", IEEE Trans. Circuit Theory 16, 1969): with A x = b and
/// A^T y = c, dGain = -y^T dA x. Of noise, sum S |y^T b|^2, the derivative is -2 Re y^T dA z with
/// A z = sum S conj(y^T b) b, plus what the densities themselves change: one more solution with the
/// factors at hand. Throws as Network::respond.
Sensitivity sensitivity_at(Network& network, std::span<const ValueSlope> slopes,
                           double frequency_hz);

}  // namespace lowhiss
