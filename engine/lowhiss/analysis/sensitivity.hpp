#pragma once

#include <span>
#include <vector>

#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

// Sensitivities: takes a network and the changes of its equations with the value of each part, and
// returns the derivatives of response and noise.

/// The derivatives d/d ln p of a circuit's equations and noise densities, p the value of one part.
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
    bool known = true;  ///< false if the structure depends on the value
};

/// The slope, from the circuit and the same circuit with p times e^step. Its relative error is half
/// the step, and rounding over the step.
ValueSlope value_slope(const Circuit& circuit, const Circuit& moved, double step);

/// The derivatives of the response at one frequency with respect to ln p of each part.
struct ResponseSlopes {
    std::vector<Complex> ln_gain;
    std::vector<Complex> ln_input_voltage;
    std::vector<Complex> ln_input_impedance;
    std::vector<Complex> ln_output_impedance;  ///< the load included
    std::vector<double> group_delay_s;
};

/// By the adjoint, without solving another circuit (Director and Rohrer, "The generalized adjoint
/// network and network sensitivities", IEEE Trans. Circuit Theory 16, 1969): with A x = b and
/// A^T y = c, d(c^T x) = -y^T dA x. Other outputs have adjoints of their own; for the delay, from
/// y^T A' x, both solutions' derivatives come from A u = A' x and A^T w = A'^T y. Throws as
/// Network::respond.
ResponseSlopes response_slopes(Network& network, std::span<const ValueSlope> slopes,
                               double frequency_hz);

/// The output noise density of some groups in V^2/Hz, and its derivatives with respect to ln p.
struct NoiseSlopes {
    double v2_hz = 0;
    std::vector<double> slope_v2_hz;
};

/// For the groups with `counts`. The derivative of sum S |y^T b|^2 is -2 Re y^T dA z, with
/// A z = sum S conj(y^T b) b, plus the derivatives of the densities S: one more solution with the
/// same factors.
NoiseSlopes noise_slopes(Network& network, std::span<const ValueSlope> slopes, double frequency_hz,
                         const std::vector<bool>& counts);

}  // namespace lowhiss
