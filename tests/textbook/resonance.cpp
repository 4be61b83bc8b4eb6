// Series and parallel RLC circuits: frequency, Q and phase.

#include "lowhiss/measure/corner.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::resonance_test {

using test::Z;

constexpr double l_h = 2.2e-3;
constexpr double c_f = 47e-9;
const double resonance = 1 / (2 * test::pi * std::sqrt(l_h * c_f));  // 15.65 kHz
const double surge_ohm = std::sqrt(l_h / c_f);                       // 216.4 ohm

// The output across R: 1 / (1 + jQ(x - 1/x)), x = f / f0, Q = sqrt(L/C) / R.
const test::Stage series{.parts = R"(
L1 = { inductor = "2m2", pins = ["in", "a"] }
C1 = { capacitor = "47n", pins = ["a", "out"] }
R1 = { resistor = "10R", pins = ["out", "gnd"] }
)"};
const double series_q = surge_ohm / 10;

// Fed through R: the same, with Q = R / sqrt(L/C).
const test::Stage parallel{.parts = R"(
R1 = { resistor = "10k", pins = ["in", "out"] }
L1 = { inductor = "2m2", pins = ["out", "gnd"] }
C1 = { capacitor = "47n", pins = ["out", "gnd"] }
)"};
const double parallel_q = 10e3 / surge_ohm;

Z band_pass(double q, double x) {
    return 1.0 / Z(1, q * (x - 1 / x));
}

void check_band_pass(const test::Stage& stage, double q) {
    Network network = test::network_of(stage);
    for (int k = -200; k <= 200; ++k) {
        const double x = std::pow(10.0, k / 50.0);
        CAPTURE(x);
        // Near the resonance two reactances cancel that are Q times what is left.
        CHECK_THAT(network.respond(resonance * x).gain,
                   test::CloseTo(band_pass(q, x), q * test::close));
    }
}

TEST_CASE("a series resonance is 1 / (1 + jQ(x - 1/x)), Q = sqrt(L/C) / R") {
    check_band_pass(series, series_q);
}

TEST_CASE("a parallel resonance is 1 / (1 + jQ(x - 1/x)), Q = R / sqrt(L/C)") {
    check_band_pass(parallel, parallel_q);
}

TEST_CASE("at resonance nothing is left but the resistor, at no phase") {
    for (const test::Stage& stage : {series, parallel}) {
        // The rounding of f0 itself, 1e-16, turns the phase by 2Q times that.
        CHECK_THAT(test::gain_of(stage, resonance), test::Within(1.0, 100 * test::close));
    }
}

TEST_CASE("the half-power points of a resonance are f0 (sqrt(1 + 1/4Q^2) -+ 1/2Q)") {
    for (const auto& [stage, q] : {std::pair(series, series_q), std::pair(parallel, parallel_q)}) {
        const double root = std::sqrt(1 + 1 / (4 * q * q));
        for (const double x : {root - 1 / (2 * q), root + 1 / (2 * q)}) {
            const Z gain = test::gain_of(stage, resonance * x);
            CHECK_THAT(std::norm(gain), WithinAbs(0.5, 100 * test::close));
            CHECK_THAT(std::abs(std::arg(gain)), WithinAbs(test::pi / 4, 100 * test::close));
        }
    }
}

TEST_CASE("losses of a coil and of a capacitor lower the Q") {
    // Output across the capacitor's ends, its series resistance of 2 ohm included.
    const test::Stage lossy{.parts = R"(
L1 = { inductor = "2m2", pins = ["in", "out"], series_resistance = "8R", parallel_capacitance = "120p" }
C1 = { capacitor = "47n", pins = ["out", "gnd"], series_resistance = "2R", leakage_resistance = "1M" }
)"};
    Network network = test::network_of(lossy);
    for (const double x : {0.01, 0.5, 0.98, 1.0, 1.02, 5.0, 40.0}) {
        CAPTURE(x);
        const Z s = test::s_at(resonance * x);
        const Z coil_ohm = test::parallel(8.0 + s * l_h, 1.0 / (s * 120e-12));
        const Z capacitor_ohm = test::parallel(2.0 + 1.0 / (s * c_f), 1e6);
        CHECK_THAT(network.respond(resonance * x).gain,
                   test::CloseTo(capacitor_ohm / (coil_ohm + capacitor_ohm), 100 * test::close));
    }
}

}  // namespace lowhiss::resonance_test
