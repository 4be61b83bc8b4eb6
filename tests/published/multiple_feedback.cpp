// Multiple-feedback filters. The formulas are in "Op Amps for Everyone" (TI SLOD006), chapter 16;
// the example of a band pass is from there by memory and was not seen again.

#include <fmt/format.h>

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::multiple_feedback_test {

// Nearly ideal: a loop gain of 1e8 at least, where it matters.
const std::string model = "[opamp.ideal]\nopen_loop_gain = 1e9\ngain_bandwidth = 1e15\n";

test::Stage band_pass(double r1, double r2, double r3) {
    return {.parts = fmt::format(R"(
R1 = {{ resistor = {}, pins = ["in", "a"] }}
R3 = {{ resistor = {}, pins = ["a", "gnd"] }}
C1 = {{ capacitor = "100n", pins = ["a", "out"] }}
C2 = {{ capacitor = "100n", pins = ["a", "minus"] }}
R2 = {{ resistor = {}, pins = ["minus", "out"] }}
U1 = {{ opamp = "ideal", plus = "gnd", minus = "minus", out = "out" }}
)",
                                 r1, r3, r2),
            .tables = model};
}

TEST_CASE("a band pass of 1 kHz, Q 10 and gain -2 by its design equations") {
    // R1 = Q / (2 pi f C A), R2 = Q / (pi f C), R3 = Q / (2 pi f C (2 Q^2 - A)).
    const double unit = 10 / (2 * test::pi * 1000 * 100e-9);
    Network network = test::network_of(band_pass(unit / 2, 2 * unit, unit / (200 - 2)));
    CHECK_THAT(network.respond(1000).gain, test::CloseTo(-2.0, 1e-6));
    // The half-power points are f0 / Q apart.
    const double root = std::sqrt(1 + 1.0 / 400);
    for (const double x : {root - 0.05, root + 0.05}) {
        CHECK_THAT(std::norm(network.respond(1000 * x).gain), WithinAbs(2, 1e-5));
    }
}

TEST_CASE("the same with the printed parts, 7.96 k, 31.8 k and 80.4 ohm (from memory)") {
    Network network = test::network_of(band_pass(7.96e3, 31.8e3, 80.4));
    double peak = 0;
    double peak_hz = 0;
    for (double f_hz = 990; f_hz <= 1010; f_hz += 0.1) {
        const double gain = std::abs(network.respond(f_hz).gain);
        if (gain > peak) std::tie(peak, peak_hz) = std::pair(gain, f_hz);
    }
    // Three digits in each part.
    CHECK_THAT(peak, WithinAbs(2, 0.01));
    CHECK_THAT(peak_hz, WithinAbs(1000, 2));
}

TEST_CASE("a Butterworth low pass: R1 = R2 = R/sqrt2, R3 = R/(2 sqrt2), C and 4C") {
    // Found in a TI application note on single-supply filters; f0 = 1 / (2 pi R C).
    const double r = 10e3;
    const double root = std::sqrt(2);
    Network network = test::network_of({.parts = fmt::format(R"(
R1 = {{ resistor = {}, pins = ["in", "a"] }}
R2 = {{ resistor = {}, pins = ["a", "out"] }}
R3 = {{ resistor = {}, pins = ["a", "minus"] }}
C1 = {{ capacitor = "1n", pins = ["minus", "out"] }}
C2 = {{ capacitor = "4n", pins = ["a", "gnd"] }}
U1 = {{ opamp = "ideal", plus = "gnd", minus = "minus", out = "out" }}
)",
                                                             r / root, r / root, r / (2 * root)),
                                        .tables = model});
    const double f0 = 1 / (2 * test::pi * r * 1e-9);
    for (const double x : {0.01, 0.5, 1.0, 2.0, 10.0}) {
        CAPTURE(x);
        const test::Z expected = -1.0 / test::Z(1 - x * x, root * x);
        CHECK_THAT(network.respond(f0 * x).gain, test::CloseTo(expected, 1e-6));
    }
}

}  // namespace lowhiss::multiple_feedback_test
