// "Op Amps for Everyone" (TI SLOD006B / SLOA088), chapter 16, figure 16-17: a Sallen-Key low pass
// of unity gain, second-order Chebyshev of 3 dB ripple, corner 3 kHz.

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::sallen_key_test {

using test::Z;

// C1 to ground, C2 to the output; a buffer of exactly one.
const test::Stage low_pass{.parts = R"(
R1 = { resistor = "1.26k", pins = ["in", "a"] }
R2 = { resistor = "1.30k", pins = ["a", "b"] }
C1 = { capacitor = "22n", pins = ["b", "gnd"] }
C2 = { capacitor = "150n", pins = ["a", "out"] }
E1 = { voltage_gain = 1, control = ["b", "gnd"], pins = ["out", "gnd"] }
)"};

double gain_db(Network& network, double f_hz) {
    return db_from_ratio(std::abs(network.respond(f_hz).gain));
}

TEST_CASE("figure 16-17 is 1 / (1 + s C1 (R1 + R2) + s^2 R1 R2 C1 C2)") {
    Network network = test::network_of(low_pass);
    for (const double f_hz : {1.0, 300.0, 1820.0, 2164.7, 3000.0, 30e3, 1e6}) {
        CAPTURE(f_hz);
        const Z s = test::s_at(f_hz);
        const Z expected =
            1.0 / (1.0 + s * 22e-9 * 2560.0 + s * s * 1260.0 * 1300.0 * 22e-9 * 150e-9);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(expected, test::close));
    }
}

TEST_CASE("figure 16-17 ripples by 3 dB and is 3 dB down at 3 kHz") {
    Network network = test::network_of(low_pass);
    double peak_db = 0;
    for (double f_hz = 1700; f_hz <= 1950; f_hz += 1) {
        peak_db = std::max(peak_db, gain_db(network, f_hz));
    }
    // Published: 3 dB, 3 kHz; with resistors rounded to three digits.
    CHECK_THAT(peak_db, WithinAbs(3, 0.01));
    CHECK_THAT(gain_db(network, 3000), WithinAbs(-3, 0.05));
    // Computed from the printed parts by an independent script.
    CHECK_THAT(peak_db, WithinAbs(3.0040, 5e-5));
    CHECK_THAT(gain_db(network, 3000), WithinAbs(-2.9545, 5e-5));
    CHECK_THAT(gain_db(network, 3008.17), WithinAbs(-3.0103, 1e-4));
    // At f0 the gain is Q, at -90 degrees.
    const Z at_f0 = network.respond(2164.742).gain;
    CHECK_THAT(std::abs(at_f0), WithinAbs(1.30542, 5e-6));
    CHECK_THAT(std::arg(at_f0), WithinAbs(-test::pi / 2, 1e-5));
}

}  // namespace lowhiss::sallen_key_test
