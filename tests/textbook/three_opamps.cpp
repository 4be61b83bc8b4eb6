// The instrumentation amplifier of three op-amps: gain (1 + 2R/Rg) R4/R3.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::three_opamps_test {

using test::Z;

/// Inputs driven with weights a and b; R = 5 kohm, R4/R3 = 2, op-amps of A0 = 1e6, 20 MHz.
test::Stage amplifier(double gain_ohm, double a, double b) {
    return {.parts = fmt::format(R"(
EP = {{ voltage_gain = {}, control = ["in", "gnd"], pins = ["p", "gnd"] }}
EN = {{ voltage_gain = {}, control = ["in", "gnd"], pins = ["n", "gnd"] }}
U1 = {{ opamp = "part", plus = "p", minus = "leg_p", out = "out_p" }}
U2 = {{ opamp = "part", plus = "n", minus = "leg_n", out = "out_n" }}
RP = {{ resistor = "5k", pins = ["leg_p", "out_p"] }}
RN = {{ resistor = "5k", pins = ["leg_n", "out_n"] }}
RG = {{ resistor = {}, pins = ["leg_p", "leg_n"] }}
R1 = {{ resistor = "10k", pins = ["out_n", "minus"] }}
R2 = {{ resistor = "20k", pins = ["minus", "out"] }}
R3 = {{ resistor = "10k", pins = ["out_p", "plus"] }}
R4 = {{ resistor = "20k", pins = ["plus", "gnd"] }}
U3 = {{ opamp = "part", plus = "plus", minus = "minus", out = "out" }}
)",
                                 a, b, gain_ohm),
            .tables = "[opamp.part]\nopen_loop_gain = 1e6\ngain_bandwidth = \"20 MHz\"\n"};
}

/// 1 + 2R/Rg of the first stage is its noise gain, 3 that of the second; each op-amp takes its
/// share by 1 + noise gain / A.
Z differential_gain(double gain_ohm, double f_hz) {
    const Z a = 1e6 / (1.0 + Z(0, f_hz / 20));
    const double first = 1 + 10e3 / gain_ohm;
    return first / (1.0 + first / a) * 2.0 / (1.0 + 3.0 / a);
}

TEST_CASE("three op-amps amplify the difference by (1 + 2R/Rg) R4/R3") {
    for (const double gain_ohm : {10e3, 1e3, 100.0, 10.0}) {
        for (const double f_hz : {1.0, 1000.0, 100e3, 5e6}) {
            CAPTURE(gain_ohm, f_hz);
            CHECK_THAT(test::gain_of(amplifier(gain_ohm, 0.5, -0.5), f_hz),
                       test::CloseTo(differential_gain(gain_ohm, f_hz), test::close));
        }
    }
}

TEST_CASE("the first stage passes common mode with a gain of one") {
    test::Stage first = amplifier(100, 1, 1);
    first.tap = "out_p";
    const Z a = 1e6 / (1.0 + Z(0, 50));
    CHECK_THAT(test::gain_of(first, 1000), test::CloseTo(a / (1.0 + a), 100 * test::close));
    // And the second stage, its arms matched, takes it out.
    CHECK_THAT(test::gain_of(amplifier(100, 1, 1), 1000), test::Within(0, 1e-12));
}

}  // namespace lowhiss::three_opamps_test
