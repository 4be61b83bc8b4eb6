#pragma once

#include <functional>
#include <span>
#include <vector>

namespace lowhiss {

// Quadrature: takes densities as functions of frequency and returns their integrals over a band.

/// Computes the densities at some frequencies: all quantities at the first frequency, then all at
/// the second, and so on.
using Densities =
    std::function<void(std::span<const double> frequency_hz, std::span<double> values)>;

/// Integrals over frequency of `count` densities at once, from `from_hz` to `to_hz`, by adaptive
/// Gauss-Kronrod quadrature (7 and 15 points) in the logarithm of frequency. Panels are halved
/// until the estimated error of the first `watched` integrals is below 1e-7 of their value (0.001
/// dB of power is 2.3e-4). `breaks_hz` are frequencies of known sharp bends.
std::vector<double> integrate_over_band(const Densities& densities, std::size_t count,
                                        std::size_t watched, double from_hz, double to_hz,
                                        std::span<const double> breaks_hz);

}  // namespace lowhiss
