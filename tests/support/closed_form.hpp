#pragma once

#include <cmath>
#include <complex>
#include <numbers>

namespace lowhiss::test {

using Z = std::complex<double>;

inline constexpr double pi = std::numbers::pi;
inline constexpr double boltzmann_j_k = 1.380649e-23;  // SI, exact since 2019

/// Relative error of a figure of a small network without near cancellation: the backward error of
/// 1e-13 that the solver may leave, times a condition of a hundred.
inline constexpr double close = 1e-11;

inline Z s_at(double frequency_hz) {
    return {0, 2 * pi * frequency_hz};
}

inline Z parallel(Z a, Z b) {
    return a * b / (a + b);
}

/// 4kTR, in V^2/Hz.
inline double thermal_v2_hz(double ohm, double temperature_k = 293.15) {
    return 4 * boltzmann_j_k * temperature_k * ohm;
}

}  // namespace lowhiss::test
