// Noise and the source, by worked examples: EE538, Low-Noise Analog Circuit Design, University of
// Washington, 2021 (midterm; lecture 4), at 300 K.

#include "lowhiss/measure/source_noise.hpp"

#include <fmt/format.h>

#include <cmath>

#include "lowhiss/measure/registry.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::source_noise_test {

/// A follower of an op-amp with these densities: its en and in are those of the board.
std::string follower(const char* voltage, const char* current, const char* rest = "") {
    return fmt::format(R"([board]
temperature = "300 K"
[parts]
U1 = {{ opamp = "one", plus = "in", minus = "out", out = "out" }}
[input]
plus = "in"
[output]
plus = "out"
[opamp.one]
open_loop_gain = "160 dB"
gain_bandwidth = "10 GHz"
voltage_noise = "{} nV/rtHz"
current_noise = "{} pA/rtHz"
{})",
                       voltage, current, rest);
}

double figure(Setting& setting, const char* measure, double source_ohm = unset) {
    MeasureArguments arguments;
    if (!std::isnan(source_ohm)) arguments.source_ohm = source_ohm;
    return find_measure(measure)->at_setting(setting, arguments).value;
}

// Midterm: a noise figure of 3 dB, a factor of 2, at both 100 ohm and 10 kohm is en = 1.28 nV/rtHz,
// in = 1.28 pA/rtHz, a best source of 1 kohm and a noise figure of 0.78 dB there.
TEST_CASE("en, in and the best source belong to two equal noise figures") {
    const Board board = test::board_from_text(follower("1.28077", "1.28077"));
    Setting setting(board, nullptr, 0);
    CHECK(figure(setting, "noise_figure_at", 100) == Approx(10 * std::log10(2)).margin(1e-4));
    CHECK(figure(setting, "noise_figure_at", 10e3) == Approx(10 * std::log10(2)).margin(1e-4));
    CHECK(figure(setting, "best_source_resistance") == Approx(1000).epsilon(1e-3));
    CHECK(figure(setting, "least_noise_figure") == Approx(0.78464).margin(1e-4));
    CHECK(figure(setting, "input_voltage_noise") == Approx(1.28077e-9).epsilon(1e-6));
    CHECK(figure(setting, "input_current_noise") == Approx(1.28077e-12).epsilon(1e-6));
    CHECK(std::abs(figure(setting, "noise_correlation")) < 1e-6);
}

// Lecture 4, its second column recomputed: 11.1633, 1.1454 and 4.0210 dB.
TEST_CASE("noise figures of op-amps at a source") {
    const auto noise_figure_db = [](const char* voltage, const char* current, double source_ohm) {
        const Board board = test::board_from_text(follower(voltage, current));
        Setting setting(board, nullptr, 0);
        return noise_figure_at_db(setting, {}, source_ohm);
    };
    CHECK(noise_figure_db("10", "10", 1e3) == Approx(11.1633).margin(1e-3));
    CHECK(noise_figure_db("5", "0.5", 10e3) == Approx(1.1454).margin(1e-3));
    CHECK(noise_figure_db("5", "0.5", 1e3) == Approx(4.0210).margin(1e-3));
}

TEST_CASE(
    "an op-amp with a corner has more en at low frequencies, and a corner of its own for in") {
    const Board board = test::board_from_text(follower(
        "2", "0.5", "voltage_noise_corner = \"100 Hz\"\ncurrent_noise_corner = \"1 kHz\"\n"));
    Setting setting(board, nullptr, 0);
    const InputNoiseSources low = input_noise_sources(setting, 100);
    CHECK(low.voltage_v_rthz == Approx(2e-9 * std::sqrt(2)).epsilon(1e-6));
    CHECK(low.current_a_rthz == Approx(0.5e-12 * std::sqrt(11)).epsilon(1e-6));
}

// A current noise of 1 fA/rtHz is found beside 5 nV/rtHz: at 5 Mohm both are equal.
TEST_CASE("a very small current noise is found") {
    const Board board = test::board_from_text(follower("5", "0.001"));
    Setting setting(board, nullptr, 0);
    CHECK(figure(setting, "input_current_noise") == Approx(1e-15).epsilon(1e-4));
    CHECK(figure(setting, "best_source_resistance") == Approx(5e6).epsilon(1e-2));
}

TEST_CASE("without current noise there is no best source") {
    const Board board = test::board_from_text(follower("5", "0"));
    Setting setting(board, nullptr, 0);
    CHECK(std::isnan(figure(setting, "best_source_resistance")));
    CHECK(std::isnan(figure(setting, "least_noise_figure")));
    CHECK(figure(setting, "input_current_noise") == 0);
    CHECK(std::isnan(figure(setting, "noise_correlation")));
}

// A stage of gain 1 + R2 / R1 adds the op-amp's current through R1 || R2 and their thermal noise to
// its voltage: en^2 = e^2 + (i Rp)^2 + 4 k T Rp.
TEST_CASE("the feedback network is part of the board's en, not of its in") {
    const Board board = test::board_from_text(R"([board]
temperature = "300 K"
[parts]
U1 = { opamp = "one", plus = "in", minus = "fb", out = "out" }
R1 = { resistor = "100R", pins = ["fb", "gnd"] }
R2 = { resistor = "9k9", pins = ["out", "fb"] }
[input]
plus = "in"
capsule = "any"
[output]
plus = "out"
[capsule.any]
kind = "dynamic"
coil_resistance = "600R"
coil_inductance = "1 mH"
[opamp.one]
open_loop_gain = "160 dB"
gain_bandwidth = "10 GHz"
voltage_noise = "3 nV/rtHz"
current_noise = "2 pA/rtHz"
[[limit]]
name = "with 1 k"
measure = "noise_figure_at"
source = "1k"
max = "5 dB"
)");
    Setting setting(board, test::capsule_of(board), 0);
    const double rp = 100 * 9900.0 / 10000;
    const double e2 = 9e-18 + std::pow(2e-12 * rp, 2) + 4 * 1.380649e-23 * 300 * rp;
    CHECK(figure(setting, "input_voltage_noise") == Approx(std::sqrt(e2)).epsilon(1e-5));
    CHECK(figure(setting, "input_current_noise") == Approx(2e-12).epsilon(1e-5));
    CHECK(board.limits.front().arguments.source_ohm == 1000);
}

}  // namespace lowhiss::source_noise_test
