// CMRR of the difference amplifier with resistors at the worst corner of their tolerance t:
// (1 + G) / 4t for small t. Sedra and Smith, exercise 2.15 (2 k and 200 k, 1 %: 68 dB); TI RES11A
// data sheet (G = 4, 0.1 %: "approximately 62 dB"). Exact values by an independent script.

#include <fmt/format.h>

#include "lowhiss/measure/rejection.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::difference_cmrr_test {

/// Resistors as ratios to 1 kohm and to G kohm.
struct Errors {
    double r1, r2, r3, r4;
};

double gain(double g, const Errors& e, double plus, double minus) {
    return std::abs(test::gain_of(
        {.parts = fmt::format(R"(
EP = {{ voltage_gain = {}, control = ["in", "gnd"], pins = ["p", "gnd"] }}
EN = {{ voltage_gain = {}, control = ["in", "gnd"], pins = ["n", "gnd"] }}
R1 = {{ resistor = {}, pins = ["n", "minus"] }}
R2 = {{ resistor = {}, pins = ["minus", "out"] }}
R3 = {{ resistor = {}, pins = ["p", "plus"] }}
R4 = {{ resistor = {}, pins = ["plus", "gnd"] }}
U1 = {{ opamp = "ideal", plus = "plus", minus = "minus", out = "out" }}
)",
                              plus, minus, 1e3 * e.r1, g * 1e3 * e.r2, 1e3 * e.r3, g * 1e3 * e.r4),
         .tables = "[opamp.ideal]\nopen_loop_gain = 1e10\n"
                   "gain_bandwidth = 1e17\n"},
        1000));
}

double cmrr_db(double g, const Errors& e) {
    return db_from_ratio(gain(g, e, 0.5, -0.5) / gain(g, e, 1, 1));
}

TEST_CASE("CMRR of a difference amplifier at the worst corner of its tolerance") {
    struct Row {
        double g, t, db;
    };
    constexpr Row table[] = {{1, 1e-3, 53.9794}, {1, 1e-2, 33.9794},  {1, 1e-4, 73.9794},
                             {4, 1e-3, 61.9382}, {10, 1e-3, 68.7866}, {100, 1e-2, 68.0444}};
    for (const auto& [g, t, db] : table) {
        CAPTURE(g, t);
        const double ours = cmrr_db(g, {1 + t, 1 - t, 1 - t, 1 + t});
        CHECK_THAT(ours, WithinAbs(db, 6e-5));
        CHECK_THAT(ours, WithinAbs(db_from_ratio((1 + g) / (4 * t)), 0.1));
    }
}

TEST_CASE("the measure of common-mode rejection is the formula's") {
    struct Row {
        double g, t, db;
    };
    for (const auto& [g, t, db] : {Row{1, 1e-3, 53.9794}, Row{10, 1e-3, 68.7866}}) {
        CAPTURE(g, t);
        const Board board = test::board_from_text(fmt::format(R"(
[parts]
R1 = {{ resistor = {}, pins = ["n", "minus"] }}
R2 = {{ resistor = {}, pins = ["minus", "out"] }}
R3 = {{ resistor = {}, pins = ["p", "plus"] }}
R4 = {{ resistor = {}, pins = ["plus", "gnd"] }}
U1 = {{ opamp = "ideal", plus = "plus", minus = "minus", out = "out" }}
[input]
plus = "p"
minus = "n"
[output]
plus = "out"
[opamp.ideal]
open_loop_gain = 1e10
gain_bandwidth = 1e17
)",
                                                              1e3 * (1 + t), g * 1e3 * (1 - t),
                                                              1e3 * (1 - t), g * 1e3 * (1 + t)));
        Setting setting(board, nullptr, 0);
        // The table's differential gain is that of two sources against ground; a floating source
        // drives one current through all four resistors, and has (R2 + R4)/(R1 + R3) = G.
        const double inverting = g * (1 - t) / (1 + t);
        const double other = g * (1 + t) / ((1 - t) + g * (1 + t)) * (1 + inverting);
        const double grounded = (inverting + other) / 2;
        const double expected_db = db + db_from_ratio(g / grounded);
        CHECK_THAT(common_mode_rejection_db(setting, 1000), WithinAbs(expected_db, 6e-5));
    }
}

TEST_CASE("Sedra and Smith: 2 k and 200 k at 1 % have a common-mode gain of 0.04") {
    // One digit; exactly 0.0388. The CMRR goes with it: 68 dB.
    CHECK_THAT(gain(100, {1.01, 0.99, 0.99, 1.01}, 1, 1), WithinAbs(0.04, 0.005));
    CHECK_THAT(cmrr_db(100, {1.01, 0.99, 0.99, 1.01}), WithinAbs(68, 0.5));
}

TEST_CASE("one resistor off by 0.1 %: 66 dB") {
    // ADI MT-061, from memory: (1 + R2/R1) / Kr. Exact where it is R4 that is off, and low.
    CHECK_THAT(cmrr_db(1, {1, 1, 1, 1.001}), WithinAbs(66, 0.05));
    CHECK_THAT(cmrr_db(1, {1, 1.001, 1, 1}), WithinAbs(66, 0.05));
}

}  // namespace lowhiss::difference_cmrr_test
