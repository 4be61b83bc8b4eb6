// Every measure of the registry on a board whose figures have a closed form: a capsule of
// Rs = 1 kohm, R1 = 1 kohm in series and C1 = 100 nF to ground. With T = (Rs + R1) C1 its gain is
// 1 / (1 + sT), and all of it hisses as one resistor of 2 kohm behind that low pass.

#include <cmath>
#include <functional>
#include <map>

#include "lowhiss/analysis/weighting.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/standard_figures.hpp"
#include "measure/expected.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::every_measure_test {

using test::pi;
using test::Z;

constexpr double source_ohm = 1e3;
constexpr double series_ohm = 1e3;
constexpr double total_ohm = source_ohm + series_ohm;
constexpr double farad = 100e-9;
constexpr double corner_hz = 1 / (2 * pi * total_ohm * farad);
constexpr double dbu_v = 0.7745966692414834;  // sqrt(0.6)

const test::Stage low_pass{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
C1 = { capacitor = "100n", pins = ["out", "gnd"] }
)",
                           .capsule = "kind = \"resistive\"\nresistance = \"1k\"\n"};

const test::Stage coupled{.parts = R"(
C1 = { capacitor = "100n", pins = ["in", "out"] }
R1 = { resistor = "10k", pins = ["out", "gnd"] }
)"};

const test::Stage pad{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
)"};

const test::Stage divider{.parts = R"(
RV1 = { potentiometer = "10k", pins = ["gnd", "out", "in"] }
)",
                          .tables = R"(
[knob]
part = "RV1"
positions = [0.1, 0.5, 1.0]
)"};

double db(double ratio) {
    return 20 * std::log10(ratio);
}
double gain_at(double f_hz) {
    return 1 / std::hypot(1, f_hz / corner_hz);
}
double phase_at(double f_hz) {
    return -std::atan(f_hz / corner_hz) * 180 / pi;
}
double delay_at(double f_hz) {
    return total_ohm * farad / (1 + std::pow(f_hz / corner_hz, 2));
}

/// 4 k T R through the low pass, integrated from 20 Hz to 20 kHz: R fc (atan(b/fc) - atan(a/fc)).
double noise_v2(double ohm, double fc_hz) {
    return test::thermal_v2_hz(ohm) * fc_hz * (std::atan(20e3 / fc_hz) - std::atan(20 / fc_hz));
}

/// The same, weighted: by the trapezoidal rule over 20,000 steps of log f.
double weighted_noise_v2(double (*weighting)(double)) {
    constexpr int steps = 20000;
    const double step = std::log(1000) / steps;
    double sum = 0;
    for (int k = 0; k <= steps; ++k) {
        const double f_hz = 20 * std::exp(k * step);
        const double density = std::pow(gain_at(f_hz) * weighting(f_hz), 2) * f_hz;
        sum += (k == 0 || k == steps ? 0.5 : 1.0) * density * step;
    }
    return sum * test::thermal_v2_hz(total_ohm);
}

double ein_dbu_of(double output_v2) {
    return db(std::sqrt(output_v2) / gain_at(1000) / dbu_v);
}

/// The source's 1 kohm into R1 and C1.
double loading_db(double f_hz) {
    const Z input_ohm = series_ohm + 1.0 / (test::s_at(f_hz) * farad);
    return db(std::abs((source_ohm + input_ohm) / input_ohm));
}

/// One pin is ground, the other has the output impedance Z before the receiver's 10 kohm:
/// 1 - R/(R + Z).
double unbalanced_db(double f_hz) {
    const Z ohm = total_ohm / (1.0 + test::s_at(f_hz) * total_ohm * farad);
    return -db(std::abs(ohm / (10e3 + ohm)));
}

using test::at;
using test::Expected;
using test::of;

/// Integrals are right to 1e-7, roots to 1e-10, curves to rounding; decibels are 4.3 times that.
constexpr double of_integral_db = 1e-6;
constexpr double of_curve = 1e-9;

std::map<std::string, Expected> expectations() {
    const auto spread_db = [](double fc_hz) {
        return 10 * std::log10((1 + std::pow(20e3 / fc_hz, 2)) / (1 + std::pow(20 / fc_hz, 2)));
    };
    const double board_fc_hz = 1 / (2 * pi * series_ohm * farad);  // of R1 and C1 alone
    const double effect_spread_db = spread_db(corner_hz) - spread_db(board_fc_hz);
    const double fc2 = corner_hz * corner_hz;
    const double total_v2 = noise_v2(total_ohm, corner_hz);
    // The corner is 3.0103 dB under the gain at 1 kHz: 1 + (f/fc)^2 = 2 (1 + (1 kHz/fc)^2).
    const double high_hz = std::sqrt(fc2 * (1 + 2 * 1e6 / fc2));
    return {
        {"gain", {&low_pass, db(gain_at(5000)), of_curve, at(5000)}},
        {"gain_from_terminals",
         {&low_pass, -10 * std::log10(1 + std::pow(5000 / board_fc_hz, 2)), of_curve, at(5000)}},
        {"attenuation", {&low_pass, db(gain_at(1000) / gain_at(5000)), of_curve, at(5000)}},
        {"flatness", {&low_pass, spread_db(corner_hz), of_curve}},
        {"low_corner", {&coupled, 1 / (2 * pi * 1e-3) / std::sqrt(1 + 2 / (4 * pi * pi)), 1e-7}},
        {"high_corner", {&low_pass, high_hz, 1e-5}},
        {"phase", {&low_pass, phase_at(5000), of_curve, at(5000)}},
        {"phase_spread", {&low_pass, phase_at(20) - phase_at(20e3), of_curve}},
        {"polarity", {&low_pass, 0, 0}},  // -51 degrees at 1 kHz
        {"group_delay", {&low_pass, delay_at(5000), 1e-15, at(5000)}},
        {"group_delay_spread", {&low_pass, delay_at(20) - delay_at(20e3), 1e-15}},
        {"input_impedance", {&low_pass, std::hypot(series_ohm, 1 / (2 * pi * 20e3 * farad)), 1e-8}},
        {"output_impedance", {&low_pass, total_ohm * gain_at(20), 1e-8}},
        {"capsule_effect",
         {&low_pass, db(gain_at(5000)) + 10 * std::log10(1 + std::pow(5000 / board_fc_hz, 2)),
          of_curve, at(5000)}},
        {"capsule_effect_spread", {&low_pass, effect_spread_db, 1e-8}},
        {"output_noise", {&low_pass, std::sqrt(total_v2), 1e-7 * std::sqrt(total_v2)}},
        {"ein", {&low_pass, ein_dbu_of(total_v2), of_integral_db}},
        {"ein_a", {&low_pass, ein_dbu_of(weighted_noise_v2(a_weighting)), of_integral_db}},
        {"ein_468",
         {&low_pass, ein_dbu_of(weighted_noise_v2(itu_r_468_weighting)), of_integral_db}},
        {"noise_figure", {&low_pass, 10 * std::log10(2), of_integral_db}},
        {"capsule_noise_rise",
         {&low_pass, 10 * std::log10(total_v2 / noise_v2(series_ohm, board_fc_hz)),
          of_integral_db}},
        // Series R1 and shunt R2 behind a source Rs: 4kT (R1 + (Rs + R1)^2 / R2) added to its
        // voltage.
        {"noise_figure_at",
         {&pad, 10 * std::log10(1 + (1e3 + 1.2e3 * 1.2e3 / 10e3) / 200), of_integral_db}},
        {"best_source_resistance", {&pad, 1e3 * std::sqrt(11), 3}},
        {"least_noise_figure",
         {&pad, 10 * std::log10(1 + 0.2 * (std::sqrt(11) + 1)), of_integral_db}},
        {"input_voltage_noise", {&pad, std::sqrt(test::thermal_v2_hz(1.1e3)), 1e-15}},
        {"input_current_noise", {&pad, std::sqrt(test::thermal_v2_hz(1)) / std::sqrt(10e3), 1e-18}},
        {"noise_correlation", {&pad, 1 / std::sqrt(11), 1e-6}},
        {"noise_share", {&low_pass, 0.5, 1e-9, of("R1")}},
        {"bass_loss",
         {&coupled, 10 * std::log10(1 + std::pow(1 / (2 * pi * 1e-3) / 20, 2)), of_curve,
          of("C1")}},
        {"loading_loss", {&low_pass, loading_db(20e3), of_curve}},
        {"plus_pin_impedance", {&low_pass, total_ohm * gain_at(5000), 1e-8, at(5000)}},
        {"minus_pin_impedance", {&low_pass, 0, 0, at(5000)}},
        {"output_balance", {&low_pass, unbalanced_db(5000), of_curve, at(5000)}},
        {"gain_range", {&divider, 20, of_curve}},
        {"gain_step", {&divider, db(5), of_curve}},
    };
}

double measured(const MeasureRecord& measure, const Expected& expected) {
    const Board board = expected.text.empty() ? test::board_of(*expected.stage)
                                              : test::board_from_text(expected.text);
    Assembly assembly(board, "", board.input.capsule);
    return value_of(measure, expected.arguments, assembly, assembly.positions().front()).value;
}

TEST_CASE("each measure is what its closed form says") {
    auto expected = expectations();
    expected.merge(test::behaviour_expectations());
    for (const MeasureRecord& measure : measure_records()) {
        INFO(measure.name);
        const auto found = expected.find(std::string(measure.name));
        REQUIRE(found != expected.end());
        CHECK_THAT(measured(measure, found->second),
                   WithinAbs(found->second.value, found->second.margin));
    }
}

}  // namespace lowhiss::every_measure_test
