// Switching on, against closed forms: the time until the output is at rest, and the thump.

#include "lowhiss/measure/switch_on.hpp"

#include <cmath>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::switch_on_test {

const std::string input = "R9 = { resistor = \"1M\", pins = [\"in\", \"gnd\"] }\n";

SwitchOn of(const test::Stage& stage) {
    const Board board = test::board_of(stage);
    Setting setting(board, test::capsule_of(board), 0);
    return setting.switch_on();
}

TEST_CASE("a coupling capacitor thumps V r / (r + R) and settles in 4.6 time constants",
          "[switch_on]") {
    const SwitchOn found = of({.parts = input + R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "a"] }
C1 = { capacitor = "10u", pins = ["a", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
)"});
    CHECK_THAT(found.thump_v, WithinRel(9.0 * 10 / 11, 1e-9));
    CHECK(found.part == "C1");
    CHECK(found.at_s == 0);
    CHECK_THAT(found.slowest_s, WithinRel(0.11, 1e-9));
    CHECK_THAT(found.settling_s, WithinRel(std::log(100) * 0.11, 1e-9));
}

TEST_CASE("a slower capacitor that does not reach the output does not count", "[switch_on]") {
    const SwitchOn found = of({.parts = input + R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "a"] }
C1 = { capacitor = "10u", pins = ["a", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
R3 = { resistor = "1M", pins = ["v", "slow"] }
C3 = { capacitor = "100u", pins = ["slow", "gnd"] }
)"});
    CHECK_THAT(found.settling_s, WithinRel(std::log(100) * 0.11, 1e-9));
    CHECK_THAT(found.slowest_s, WithinRel(0.11, 1e-9));
}

TEST_CASE("a middle of the supply that rises behind a coupling capacitor", "[switch_on]") {
    // 4.5 V (1 - e^(-t/T1)) through a high pass of T2:
    //   4.5 V T2 / (T1 - T2) (e^(-t/T1) - e^(-t/T2)).
    const SwitchOn found = of({.parts = input + R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "10k", pins = ["v", "ref"] }
R2 = { resistor = "10k", pins = ["ref", "gnd"] }
C1 = { capacitor = "100u", pins = ["ref", "gnd"] }
U1 = { opamp = "part", plus = "ref", minus = "a", out = "a" }
C2 = { capacitor = "10u", pins = ["a", "out"] }
R3 = { resistor = "10k", pins = ["out", "gnd"] }
)",
                               .tables = "[opamp.part]\nopen_loop_gain = 1e7\n"
                                         "gain_bandwidth = \"10 MHz\"\n"});
    constexpr double t1 = 0.5;
    constexpr double t2 = 0.1;
    const auto off_v = [](double t) {
        return 4.5 * t2 / (t1 - t2) * (std::exp(-t / t1) - std::exp(-t / t2));
    };
    const double peak_s = std::log(t1 / t2) * t1 * t2 / (t1 - t2);
    // Times are followed in steps of 2.3 %, so that a flat peak is missed by 1e-4 at most; the
    // amplifier's gain of 1e7 is another 1e-7.
    CHECK_THAT(found.thump_v, WithinRel(off_v(peak_s), 2e-4));
    CHECK_THAT(found.at_s, WithinRel(peak_s, 0.03));
    CHECK_THAT(found.slowest_s, WithinRel(t1, 1e-6));
    CHECK_THAT(off_v(found.settling_s) / found.thump_v, WithinRel(0.01, 1e-6));
    CHECK(found.settling_s > 2);
}

TEST_CASE("two legs with the same natural frequency", "[switch_on]") {
    const test::Stage legs{.parts = input + R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
V2 = { voltage_source = "4 V", pins = ["w", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "a"] }
R2 = { resistor = "1k", pins = ["w", "b"] }
C1 = { capacitor = "10u", pins = ["a", "out"] }
C2 = { capacitor = "10u", pins = ["b", "cold"] }
R3 = { resistor = "10k", pins = ["out", "gnd"] }
R4 = { resistor = "10k", pins = ["cold", "gnd"] }
)",
                           .output = "minus = \"cold\""};
    const SwitchOn found = of(legs);
    CHECK_THAT(found.thump_v, WithinRel(5.0 * 10 / 11, 1e-9));
    CHECK(found.part == "C1");
    CHECK_THAT(found.settling_s, WithinRel(std::log(100) * 0.11, 1e-9));
}

TEST_CASE("two legs that thump alike cancel", "[switch_on]") {
    const SwitchOn found = of({.parts = input + R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "a"] }
R2 = { resistor = "1k", pins = ["v", "b"] }
C1 = { capacitor = "10u", pins = ["a", "out"] }
C2 = { capacitor = "10u", pins = ["b", "cold"] }
R3 = { resistor = "10k", pins = ["out", "gnd"] }
R4 = { resistor = "10k", pins = ["cold", "gnd"] }
)",
                               .output = "minus = \"cold\""});
    CHECK_THAT(found.thump_v, WithinAbs(0, 1e-9));
    CHECK(found.settling_s == 0);
}

TEST_CASE("a coil and a capacitor ring: within 1 % of the thump by the envelope", "[switch_on]") {
    // 9 V through R, L and C in series, listened to across L and R9: L starts with all 9 V less
    // what R takes of no current. s = -R/2L +- j sqrt(1/LC - (R/2L)^2) = -50 +- j 1000 s^-1.
    const SwitchOn found = of({.parts = input + R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "100R", pins = ["v", "a"] }
C1 = { capacitor = "0.997506 uF", pins = ["a", "out"] }
L1 = { inductor = "1", pins = ["out", "gnd"] }
)"});
    CHECK_THAT(found.thump_v, WithinRel(9, 1e-5));
    CHECK_THAT(found.slowest_s, WithinRel(1 / 50.0, 1e-5));
    // The last time that |cos(1000 t + p)| e^(-50 t) is 1 % lies in the half turn before the
    // envelope is.
    const double envelope_s = std::log(100) / 50;
    CHECK(found.settling_s < envelope_s + 1e-3);
    CHECK(found.settling_s > envelope_s - test::pi / 1000);
}

TEST_CASE("a board without a supply is never switched on", "[switch_on]") {
    const SwitchOn found = of({.parts = input + R"(
C1 = { capacitor = "10u", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
)"});
    CHECK(std::isnan(found.thump_v));
    CHECK(std::isnan(found.settling_s));
    CHECK(found.part.empty());
}

}  // namespace lowhiss::switch_on_test
