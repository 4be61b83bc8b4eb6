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

/// What the value of each part does to the response at one frequency: d/d ln p.
struct ResponseSlopes {
    std::vector<Complex> ln_gain;
    std::vector<Complex> ln_input_voltage;
    std::vector<Complex> ln_input_impedance;
    std::vector<Complex> ln_output_impedance;  ///< with the board's load on it
    std::vector<double> group_delay_s;
};

/// By the adjoint, without solving any other circuit (Director and Rohrer, "The generalized adjoint
/// network and network sensitivities", IEEE Trans. Circuit Theory 16, 1969): with A x = b and
/// A^T y = c, d(c^T x) = -y^T dA x. Other outputs have adjoints of their own; for the delay, from
/// y^T A' x, both solutions' derivatives come from A u = A' x and A^T w = A'^T y. Throws as
/// Network::respond.
ResponseSlopes response_slopes(Network& network, std::span<const ValueSlope> slopes,
                               double frequency_hz);

/// Output noise density of the groups that `counts` says, V^2/Hz, and its derivatives.
struct NoiseSlopes {
    double v2_hz = 0;
    std::vector<double> slope_v2_hz;
};

/// Of sum S |y^T b|^2 the derivative is -2 Re y^T dA z with A z = sum S conj(y^T b) b, plus what
/// the densities S themselves change: one more solution with the factors at hand.
NoiseSlopes noise_slopes(Network& network, std::span<const ValueSlope> slopes, double frequency_hz,
                         const std::vector<bool>& counts);

}  // namespace lowhiss
