// The one-op-amp difference amplifier, driven at each input and at both.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::difference_amplifier_test {

using test::Z;

struct Arms {
    double r1, r2;  ///< inverting input resistor, feedback
    double r3, r4;  ///< non-inverting input resistor, to ground
};

/// The inputs are driven with the weights a (plus side) and b (minus side) of the source.
test::Stage amplifier(const Arms& r, double a, double b, const std::string& cmrr = "") {
    return {.parts = fmt::format(R"(
EP = {{ voltage_gain = {}, control = ["in", "gnd"], pins = ["p", "gnd"] }}
EN = {{ voltage_gain = {}, control = ["in", "gnd"], pins = ["n", "gnd"] }}
R1 = {{ resistor = {}, pins = ["n", "minus"] }}
R2 = {{ resistor = {}, pins = ["minus", "out"] }}
R3 = {{ resistor = {}, pins = ["p", "plus"] }}
R4 = {{ resistor = {}, pins = ["plus", "gnd"] }}
U1 = {{ opamp = "part", plus = "plus", minus = "minus", out = "out" }}
)",
                                 a, b, r.r1, r.r2, r.r3, r.r4),
            .tables = "[opamp.part]\nopen_loop_gain = 2e5\ngain_bandwidth = \"8 MHz\"\n" + cmrr};
}

Z open_loop(double f_hz) {
    return 2e5 / (1.0 + test::s_at(f_hz) * 2e5 / (2 * test::pi * 8e6));
}

Z expected(const Arms& r, double a, double b, Z a_open) {
    const double at_plus = a * r.r4 / (r.r3 + r.r4);
    const double at_minus = b * r.r2 / (r.r1 + r.r2);
    return a_open * (at_plus - at_minus) / (1.0 + a_open * r.r1 / (r.r1 + r.r2));
}

constexpr Arms matched{2200, 22000, 2200, 22000};
constexpr Arms unmatched{2200, 21900, 2250, 22100};

TEST_CASE("a difference amplifier weighs its two inputs, finite gain-bandwidth included") {
    for (const Arms& r : {matched, unmatched}) {
        for (const auto& [a, b] :
             {std::pair(1.0, 0.0), std::pair(0.0, 1.0), std::pair(0.5, -0.5)}) {
            Network network = test::network_of(amplifier(r, a, b));
            for (const double f_hz : {1.0, 1000.0, 100e3, 10e6}) {
                CAPTURE(a, b, f_hz);
                CHECK_THAT(network.respond(f_hz).gain,
                           test::CloseTo(expected(r, a, b, open_loop(f_hz)), test::close));
            }
        }
    }
}

TEST_CASE("matched arms cancel what both inputs share") {
    CHECK_THAT(test::gain_of(amplifier(matched, 1, 1), 1000), test::Within(0, 1e-13));
}

TEST_CASE("mismatched arms let common mode through by exactly their mismatch") {
    const Arms r = unmatched;
    const Z common = test::gain_of(amplifier(r, 1, 1), 1000);
    // Two terms near one cancel to the mismatch of 1.4 parts in a thousand.
    CHECK_THAT(common, test::CloseTo(expected(r, 1, 1, open_loop(1000)), 1000 * test::close));
}

TEST_CASE("the op-amp's own CMRR is what a matched difference amplifier is left with") {
    // out = A (v_d + v_cm / CMRR), the minus input at (R2 + R1 out) / (R1 + R2).
    const Z common = test::gain_of(amplifier(matched, 1, 1, "cmrr = \"80 dB\""), 1000);
    const Z a = open_loop(1000);
    const double beta = 1.0 / 11;
    const double share = 10.0 / 11;
    const double half = 0.5e-4;
    const Z out = a * 2.0 * half * share / (1.0 + a * beta * (1.0 - half));
    CHECK_THAT(common, test::CloseTo(out, 1e4 * test::close));
    // Referred to the differential gain of 10, the 80 dB of the op-amp, which see 10/11 of the
    // common voltage at the gain of 11.
    const Z differential = test::gain_of(amplifier(matched, 0.5, -0.5, "cmrr = \"80 dB\""), 1000);
    CHECK_THAT(std::abs(differential / common), WithinRel(1e4, 1e-3));
}

}  // namespace lowhiss::difference_amplifier_test
