// The impedance of each output pin to ground, and what a receiver of 10 kohm and 11 kohm rejects.

#include "lowhiss/measure/output_balance.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::output_balance_test {

using test::Z;

struct Bench {
    explicit Bench(const test::Stage& stage)
        : board(test::board_of(stage)), setting(board, test::capsule_of(board), 0) {}

    Board board;
    Setting setting;
};

/// A bridge of Z+ with one arm of the receiver and Z- with the other; the worse way round.
double bridge_db(Z plus_ohm, Z minus_ohm) {
    const auto unbalance = [&](double to_plus, double to_minus) {
        return std::abs(to_plus / (to_plus + plus_ohm) - to_minus / (to_minus + minus_ohm));
    };
    return -20 * std::log10(std::max(unbalance(10e3, 11e3), unbalance(11e3, 10e3)));
}

/// An amplifier without output resistance drives R1; R2 is from the minus pin to ground.
test::Stage impedance_balanced(const std::string& r1, const std::string& r2) {
    return {.parts =
                "E1 = { voltage_gain = 10, control = [\"in\", \"gnd\"], pins = [\"a\", "
                "\"gnd\"] }\nR1 = { resistor = \"" +
                r1 + "\", pins = [\"a\", \"out\"] }\nR2 = { resistor = \"" + r2 +
                "\", pins = [\"cold\", \"gnd\"] }\n" +
                "R3 = { resistor = \"1M\", pins = [\"in\", \"gnd\"] }\n",
            .output = "minus = \"cold\"\nload = \"2k2\"\ncable = \"1n\""};
}

TEST_CASE("an impedance-balanced output: the two resistors, without load and cable", "[balance]") {
    Bench equal(impedance_balanced("100R", "100R"));
    for (const double f_hz : {50.0, 1e3, 20e3}) {
        CAPTURE(f_hz);
        CHECK_THAT(plus_pin_impedance_ohm(equal.setting, f_hz), WithinRel(100, 1e-9));
        CHECK_THAT(minus_pin_impedance_ohm(equal.setting, f_hz), WithinRel(100, 1e-9));
        // The receiver's own imbalance is left: 100 (1/10.1k - 1/11.1k), about.
        CHECK_THAT(output_balance_db(equal.setting, f_hz), WithinAbs(bridge_db(100, 100), 1e-6));
    }
    CHECK_THAT(output_balance_db(equal.setting, 1e3), WithinAbs(61.0, 0.05));
    Bench unequal(impedance_balanced("47R", "100R"));
    CHECK_THAT(output_balance_db(unequal.setting, 1e3), WithinAbs(bridge_db(47, 100), 1e-6));
    CHECK(output_balance_db(unequal.setting, 1e3) < 45);
}

TEST_CASE("a single-ended output is as unbalanced as its output resistance", "[balance]") {
    Bench bench({.parts = R"(
E1 = { voltage_gain = 10, control = ["in", "gnd"], pins = ["a", "gnd"] }
R1 = { resistor = "100R", pins = ["a", "b"] }
C1 = { capacitor = "10u", pins = ["b", "out"] }
R3 = { resistor = "1M", pins = ["in", "gnd"] }
)"});
    const Z ohm = 100.0 + 1.0 / (test::s_at(50) * 10e-6);
    CHECK_THAT(plus_pin_impedance_ohm(bench.setting, 50), WithinRel(std::abs(ohm), 1e-9));
    CHECK(minus_pin_impedance_ohm(bench.setting, 50) == 0);
    CHECK_THAT(output_balance_db(bench.setting, 50), WithinAbs(bridge_db(ohm, 0), 1e-6));
}

TEST_CASE("pins that share an impedance", "[balance]") {
    // 1 kohm to ground, then 100 and 120 ohm: Z = [1100 1000; 1000 1120].
    Bench bench({.parts = R"(
E1 = { transconductance = "1m", control = ["in", "gnd"], pins = ["gnd", "m"] }
R0 = { resistor = "1k", pins = ["m", "gnd"] }
R1 = { resistor = "100R", pins = ["m", "out"] }
R2 = { resistor = "120R", pins = ["m", "cold"] }
R3 = { resistor = "1M", pins = ["in", "gnd"] }
)",
                 .output = "minus = \"cold\"\nload = \"10k\""});
    CHECK_THAT(plus_pin_impedance_ohm(bench.setting, 1e3), WithinRel(1100, 1e-9));
    CHECK_THAT(minus_pin_impedance_ohm(bench.setting, 1e3), WithinRel(1120, 1e-9));
    // The star point m of the receiver's two legs, each of its arm and its pin's resistor, is at
    // 1 V less the drop over R0.
    const auto difference = [](double to_plus, double to_minus) {
        const double legs = 1 / (100 + to_plus) + 1 / (120 + to_minus);
        const double m_v = 1 / (1 + 1e3 * legs);
        return std::abs(m_v * (to_plus / (100 + to_plus) - to_minus / (120 + to_minus)));
    };
    const double most = std::max(difference(10e3, 11e3), difference(11e3, 10e3));
    CHECK_THAT(output_balance_db(bench.setting, 1e3), WithinAbs(-20 * std::log10(most), 1e-6));
}

}  // namespace lowhiss::output_balance_test
