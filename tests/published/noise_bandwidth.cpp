// Noise bandwidth of a low pass over its -3 dB corner: (pi/2n) / sin(pi/2n) for Butterworth
// filters, textbook.

#include <fmt/format.h>

#include "lowhiss/analysis/noise.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::noise_bandwidth_test {

/// Doubly terminated, 1 ohm and 1 rad/s. The load is noiseless, the source is not: its available
/// noise power kTB, halved as voltage into a match, comes out as kTB volts squared.
double noise_bandwidth_ratio(int n) {
    std::string parts;
    std::string at = "in";
    for (int k = 1; k <= n; ++k) {
        const double g = 2 * std::sin((2 * k - 1) * test::pi / (2 * n));
        const std::string next = k % 2 == 1 ? at : fmt::format("n{}", k);
        parts += k % 2 == 1 ? fmt::format("C{} = {{ capacitor = {}, pins = [\"{}\", \"gnd\"] }}\n",
                                          k, g, at)
                            : fmt::format("L{} = {{ inductor = {}, pins = [\"{}\", \"{}\"] }}\n", k,
                                          g, at, next);
        at = next;
    }
    Network network = test::network_of({.parts = parts,
                                        .capsule = "kind = \"resistive\"\nresistance = 1\n",
                                        .output = "load = 1",
                                        .tap = at});
    // The first order leaves 1e-9 of its noise above the upper end.
    const double power_v2 = integrate_noise(network, {1e-9, 1e9}).power_v2;
    const double bandwidth_hz = power_v2 / (test::boltzmann_j_k * 293.15);
    return bandwidth_hz * 2 * test::pi;
}

TEST_CASE("noise bandwidth over -3 dB bandwidth of Butterworth filters") {
    constexpr double published[] = {1.570796, 1.110721, 1.047198, 1.026172, 1.016641};
    for (int n = 1; n <= 5; ++n) {
        CAPTURE(n);
        const double ratio = noise_bandwidth_ratio(n);
        CHECK_THAT(ratio, WithinAbs(published[n - 1], 1e-6));
        // The accuracy of the integrals, 1e-7 of their value.
        const double x = test::pi / (2 * n);
        CHECK_THAT(ratio, WithinRel(x / std::sin(x), 1e-7));
    }
}

}  // namespace lowhiss::noise_bandwidth_test
