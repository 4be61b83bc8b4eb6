// Distortion of single transistors and pairs, with sources that hold their voltages: EE538,
// Low-Noise Analog Circuit Design, University of Washington, 2021, lecture 6; Bapat, "Electronics
// Circuits and Systems", example 5.6; the rest are power series of the laws. Harmonics are to the
// lowest order in the level, so that exact values of large signals differ by the next term.

#include "lowhiss/measure/distortion.hpp"

#include <cmath>

#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::distortion_test {

constexpr double thermal_v = 25e-3;
const std::string at_25_mv = "temperature = \"290.11295 K\"";
const std::string ideal_npn =
    "[bipolar.n]\npolarity = \"npn\"\ncurrent_gain = 1e9\nbase_emitter_voltage = \"0.7 V\"\n";
const std::string jfet_of_16_ma =
    "[jfet.j]\npolarity = \"n\"\nsaturation_current = \"16 mA\"\npinch_off_voltage = \"4 V\"\n";

/// Second and third harmonic over the fundamental, negative where its peaks are opposite.
struct Signed {
    double second, third;
};

Signed harmonics(const test::Stage& stage, double peak_v) {
    const Board board = test::board_of(stage);
    Setting setting(board, nullptr, 0);
    const Harmonics& h = setting.harmonics(1000);
    return {(h.second / h.gain).real() * peak_v, (h.third / h.gain).real() * peak_v * peak_v};
}

/// A transistor's current makes a voltage at "out" over so little that it does not move.
test::Stage grounded(const std::string& emitter) {
    return {.parts = R"(
V1 = { voltage_source = "5 V", pins = ["vcc", "gnd"] }
R1 = { resistor = "1R", pins = ["vcc", "out"] }
Q1 = { bipolar = "n", collector = "out", base = "in", emitter = "e" }
)" + emitter,
            .tables = ideal_npn,
            .board = at_25_mv};
}

TEST_CASE("an exponential makes a fourth of v / VT", "[published][distortion]") {
    const test::Stage stage =
        grounded("V2 = { voltage_source = \"-0.7 V\", pins = [\"e\", \"gnd\"] }");
    // Lecture 6: I_n(x) / I_1(x) with x = v / VT; its next terms are x^2 / 24 and x^2 / 16 of
    // these.
    const Signed half = harmonics(stage, thermal_v / 2);
    CHECK(half.second == Approx(0.125).epsilon(1e-6));
    CHECK(half.second == Approx(0.123718).epsilon(0.25 / 24));
    CHECK(half.third == Approx(0.25 / 24).epsilon(1e-6));
    CHECK(half.third == Approx(0.0102566).epsilon(0.25 / 16));
    // "1 % a millivolt": 1 mV at 26 mV.
    CHECK(harmonics(stage, thermal_v / 26).second == Approx(0.0096148).epsilon(1e-4));
}

TEST_CASE("a pair has no second harmonic", "[published][distortion]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "5 V", pins = ["vcc", "gnd"] }
R1 = { resistor = "1R", pins = ["vcc", "out"] }
Q1 = { bipolar = "n", collector = "out", base = "in", emitter = "e" }
Q2 = { bipolar = "n", collector = "vcc", base = "gnd", emitter = "e" }
I1 = { current_source = "2 mA", from = "e", into = "gnd" }
)",
                            .tables = ideal_npn,
                            .board = at_25_mv};
    // Lecture 6: HD3 of tanh, 0.0208203 % at v_d = 0.1 VT. The lowest order is larger by
    // (v / VT)^2 / 16 of it, own series; 3e-6 is half of the last digit printed.
    const Signed small = harmonics(stage, 0.1 * thermal_v);
    CHECK(std::abs(small.second) < 1e-9);
    CHECK(-small.third == Approx(0.01 / 48).epsilon(1e-6));
    CHECK(-small.third == Approx(2.08203e-4 * (1 + 0.01 / 16)).epsilon(3e-6));
}

TEST_CASE("the square law makes a second harmonic alone", "[published][distortion]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "15 V", pins = ["vdd", "gnd"] }
R1 = { resistor = "1R", pins = ["vdd", "out"] }
J1 = { jfet = "j", drain = "out", gate = "in", source = "s" }
V2 = { voltage_source = "2 V", pins = ["s", "gnd"] }
)",
                            .tables = jfet_of_16_ma};
    // Bapat, example 5.6: 2.5 % at 0.2 V.
    const Signed bapat = harmonics(stage, 0.2);
    CHECK(bapat.second == Approx(0.025).epsilon(1e-6));
    CHECK(std::abs(bapat.third) < 1e-9);
}

TEST_CASE("feedback by a resistor moves the harmonics", "[published][distortion]") {
    // Power series of i = g(v - i R), gm R = 1: v / (4 VT (1 + T)^2) and
    // (1 - 2T) (v / VT)^2 / (24 (1 + T)^4).
    const Signed emitter = harmonics(grounded(R"(
R2 = { resistor = "25R", pins = ["e", "vee"] }
V2 = { voltage_source = "-0.725 V", pins = ["vee", "gnd"] }
)"),
                                     0.05 * thermal_v);
    CHECK(emitter.second == Approx(0.0031250).epsilon(1e-5));
    CHECK(emitter.third == Approx(-6.5104e-6).epsilon(1e-4));
    // The third harmonic vanishes at gm R = 1/2.
    const Signed null = harmonics(grounded(R"(
R2 = { resistor = "12.5R", pins = ["e", "vee"] }
V2 = { voltage_source = "-0.7125 V", pins = ["vee", "gnd"] }
)"),
                                  0.05 * thermal_v);
    CHECK(std::abs(null.third) < 1e-9);

    // The square law with T = 3: a third harmonic of -T (v / Vov)^2 / (8 (1 + T)^4).
    const Signed source = harmonics({.parts = R"(
V1 = { voltage_source = "15 V", pins = ["vdd", "gnd"] }
R1 = { resistor = "1R", pins = ["vdd", "out"] }
J1 = { jfet = "j", drain = "out", gate = "in", source = "s" }
R2 = { resistor = "750R", pins = ["s", "vss"] }
V2 = { voltage_source = "-1 V", pins = ["vss", "gnd"] }
)",
                                     .tables = jfet_of_16_ma},
                                    0.2);
    CHECK(source.second == Approx(0.00156326).epsilon(1e-3));  // the next term of (v / Vov)^2
    CHECK(source.third == Approx(-1.46484e-5).epsilon(1e-5));
    CHECK(source.third == Approx(-1.46604e-5).epsilon(2e-3));
}

// The laws as measures: v over the peak of -20 dBu, 77.46 mV rms.
TEST_CASE("levels of distortion, and what clips", "[distortion]") {
    const test::Stage stage{.parts = R"(
V1 = { voltage_source = "15 V", pins = ["vdd", "gnd"] }
R1 = { resistor = "250R", pins = ["vdd", "out"] }
J1 = { jfet = "j", drain = "out", gate = "in", source = "s" }
V2 = { voltage_source = "2 V", pins = ["s", "gnd"] }
)",
                            .tables = jfet_of_16_ma};  // gm 4 mS: a gain of 1
    const Board board = test::board_of(stage);
    Setting setting(board, nullptr, 0);
    const double peak_v = std::sqrt(0.6) / 10 * std::sqrt(2);
    const Distortion quiet = distortion_at(setting, 1000, {-20, false});
    CHECK(quiet.second == Approx(peak_v / 8).epsilon(1e-6));
    CHECK(quiet.total == Approx(peak_v / 8).epsilon(1e-6));
    REQUIRE(quiet.by_part.size() == 1);
    CHECK(quiet.by_part.front().part == "J1");
    CHECK_FALSE(quiet.clips);
    // 10 % is at a peak of 0.8 V, -2.73 dBu; the transistor cuts off at a linear peak of 1 V.
    CHECK_FALSE(distortion_at(setting, 1000, {-3, false}).clips);
    CHECK(distortion_at(setting, 1000, {-2, false}).clips);
    CHECK(distortion_of_loudest(setting, 1000).clips);
    // No sensitivity: a sound has no level.
    const Distortion sound = distortion_at(setting, 1000, {94, true});
    CHECK(std::isnan(sound.total));
    CHECK_FALSE(sound.clips);
    MeasureArguments loud;
    loud.level = {0, false};
    CHECK(find_measure("distortion")->at_setting(setting, loud).value == infinite);
}

// C (1 + a v + b v^2) in series with R at a low frequency, where all of the voltage is over it: the
// current s q has harmonics of 2 a v / 4 and 3 b v^2 / 12 of the fundamental.
TEST_CASE("a capacitor under bias distorts", "[distortion]") {
    const auto stage = [](const std::string& keys) {
        return test::Stage{.parts =
                               "V1 = { voltage_source = \"10 V\", pins = [\"b\", \"gnd\"] }\n"
                               "R1 = { resistor = \"1R\", pins = [\"out\", \"b\"] }\n"
                               "C1 = { capacitor = \"1u\", pins = [\"out\", \"in\"], " +
                               keys + " }\n"};
    };
    const auto sizes = [&](const std::string& keys) {
        const Board board = test::board_of(stage(keys));
        Setting setting(board, nullptr, 0);
        const Harmonics& h = setting.harmonics(100);
        return std::pair(std::abs(h.second / h.gain), std::abs(h.third / h.gain));
    };
    const auto [second, none] = sizes("voltage_coefficient = \"2 %/V\"");
    CHECK(second == Approx(0.01).epsilon(1e-3));  // the rest of the voltage is over R1
    const auto [no, third] = sizes("square_voltage_coefficient = \"2 %/V^2\"");
    CHECK(no == 0);
    CHECK(third == Approx(0.005).epsilon(1e-3));
    // From 20 % at 5 V to 40 % at 15 V: 30 % lost at 10 V, 2 % a volt of what there was without.
    const std::string table = R"(bias_loss = [["0 V", 0], ["5 V", "20 %"], ["15 V", "40 %"]])";
    CHECK(sizes(table).first == Approx(0.01 / 0.7).epsilon(1e-3));
    const Board board = test::board_of(stage(table));
    Setting setting(board, nullptr, 0);
    CHECK(std::abs(setting.at(100).gain) ==
          Approx(2 * 3.141592653589793 * 100 * 0.7e-6).epsilon(1e-6));
}

}  // namespace lowhiss::distortion_test
