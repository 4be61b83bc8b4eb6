// Sensitivities by the adjoint, against closed forms, laws of scaling, and solutions of boards with
// changed values.

#include <algorithm>
#include <cmath>
#include <set>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"
#include "lowhiss/series/part_effects.hpp"
#include "lowhiss/series/random_board.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/demo_board.hpp"
#include "support/stage.hpp"

namespace lowhiss::sensitivity_test {

const double db_per_percent = 0.2 / std::log(10.0);  // of 1 % in a voltage

std::vector<std::size_t> all_parts(const Board& board) {
    std::vector<std::size_t> parts;
    for (std::size_t k = 0; k < board.parts.size(); ++k) {
        if (tolerance_of(board.parts[k]).high > 0) parts.push_back(k);
    }
    return parts;
}

std::vector<double> per_percent(const Board& board, const char* measure, double at_hz = 1000) {
    const Capsule* capsule = test::capsule_of(board);
    Setting setting(board, capsule, board.knob ? 0.5 : 0);
    PartSensitivity sensitivity(setting, all_parts(board));
    MeasureArguments arguments;
    arguments.at_hz = at_hz;
    return slope_of(*find_measure(measure), arguments, sensitivity);
}

const StandardFigure& standard_figure(std::string_view name) {
    const auto figures = standard_figures();
    return *std::find_if(figures.begin(), figures.end(),
                         [&](const StandardFigure& figure) { return figure.name == name; });
}

double sum(const std::vector<double>& values, const Board& board,
           const std::vector<std::size_t>& parts, std::string_view keyword) {
    double total = 0;
    for (std::size_t k = 0; k < parts.size(); ++k) {
        if (schema_of(board.parts[parts[k]]).keyword == keyword) total += values[k];
    }
    return total;
}

TEST_CASE("what 1 % of a divider's resistors does to gain and noise, in closed form") {
    const Board board = test::board_of({.parts = R"(
R1 = { resistor = "3k", pins = ["in", "out"], tolerance = "1 %" }
R2 = { resistor = "1k", pins = ["out", "gnd"], tolerance = "1 %" }
)"});
    // Gain R2 / (R1 + R2): d ln / d ln R1 = -R1 / (R1 + R2), and the opposite of R2.
    const auto gain = per_percent(board, "gain");
    CHECK_THAT(gain[0], WithinAbs(-0.75 * db_per_percent, 1e-6 * db_per_percent));
    CHECK_THAT(gain[1], WithinAbs(0.75 * db_per_percent, 1e-6 * db_per_percent));
    // Noise 4kT R1 R2 / (R1 + R2), the source being ideal: d ln / d ln R1 = R2 / (R1 + R2), in
    // power.
    const auto noise = per_percent(board, "output_noise");
    CHECK_THAT(noise[0], WithinAbs(0.5 * 0.25 * db_per_percent, 1e-6 * db_per_percent));
    CHECK_THAT(noise[1], WithinAbs(0.5 * 0.75 * db_per_percent, 1e-6 * db_per_percent));
    // Referred to the input: noise less gain.
    const auto ein = per_percent(board, "ein");
    CHECK_THAT(ein[0], WithinAbs(noise[0] - gain[0], 1e-12));
    CHECK_THAT(ein[1], WithinAbs(noise[1] - gain[1], 1e-12));
}

TEST_CASE("a corner of R and C falls by 1 % for 1 % of either") {
    const Board low_pass = test::board_of({.parts = R"(
R1 = { resistor = "10k", pins = ["in", "out"], tolerance = "1 %" }
C1 = { capacitor = "100p", pins = ["out", "gnd"], tolerance = "5 %" }
)"});
    const auto corner = per_percent(low_pass, "high_corner");
    // The gain at 1 kHz is 2e-5 off that at 0 Hz.
    CHECK_THAT(corner[0], WithinAbs(-1, 1e-4));
    CHECK_THAT(corner[1], WithinAbs(-1, 1e-4));
    CHECK(std::isnan(per_percent(low_pass, "low_corner")[0]));
    // At its corner a low pass turns by half a radian for each unit of ln(RC).
    const double f_hz = 1 / (2 * std::numbers::pi * 1e-6);
    const double degree = 0.01 * 0.5 * 180 / std::numbers::pi;
    CHECK_THAT(per_percent(low_pass, "phase", f_hz)[0], WithinAbs(-degree, 1e-6));
}

TEST_CASE("all impedances times the same leave gain and corners as they are") {
    // Impedance scaling: R and L by a factor, C by its inverse. The demo boards' amplifiers do not
    // scale; in the bass they do not count.
    const Board board = test::demo_board("plover-leg");
    const auto parts = all_parts(board);
    const auto corner = per_percent(board, "low_corner");
    CAPTURE(corner);
    // Frequency scaling: every capacitor 1 % larger puts the corner 1 % lower.
    CHECK_THAT(sum(corner, board, parts, "capacitor"), WithinAbs(-1, 0.02));
}

/// Measures that have no slope: a bass loss shorts a part; the others depend on direct voltages,
/// other drives, margins or natural frequencies.
const std::set<std::string_view> without_sensitivity{"bass_loss",
                                                     "max_input",
                                                     "max_output",
                                                     "max_spl",
                                                     "dynamic_range",
                                                     "phase_margin",
                                                     "gain_margin",
                                                     "loop_gain",
                                                     "mode_q",
                                                     "supply_rejection",
                                                     "feed_rejection",
                                                     "ripple_output",
                                                     "quiet_level",
                                                     "radio_rejection",
                                                     "radio_common_rejection",
                                                     "output_loss",
                                                     "supply_margin",
                                                     "supply_current",
                                                     "feed_margin",
                                                     "battery_life",
                                                     "output_offset",
                                                     "wiper_current",
                                                     "capacitor_stress",
                                                     "polarity",
                                                     "loading_loss",
                                                     "plus_pin_impedance",
                                                     "minus_pin_impedance",
                                                     "output_balance",
                                                     "settling_time",
                                                     "switch_on_thump",
                                                     "noise_figure_at",
                                                     "best_source_resistance",
                                                     "least_noise_figure",
                                                     "input_voltage_noise",
                                                     "input_current_noise",
                                                     "noise_correlation",
                                                     "second_harmonic",
                                                     "third_harmonic",
                                                     "distortion"};

/// Every part off by up to 5 %, far more than the steps below: a figure with a cusp is smooth
/// there.
Board out_of_balance(Board board) {
    for (const std::size_t part : all_parts(board)) {
        stray(board.parts[part], 0.05 * std::sin(1.0 + static_cast<double>(part)));
    }
    return board;
}

TEST_CASE(
    "sensitivities of every measure at a setting are what real solutions of moved boards say") {
    for (const std::string name : {"heron-c", "curlew"}) {
        const Board drawn = test::demo_board(name);
        const Board tilted = out_of_balance(drawn);
        const Capsule* capsule = test::capsule_of(drawn);
        const auto parts = all_parts(drawn);
        Setting of_drawn(drawn, capsule, 0.5);
        Setting of_tilted(tilted, capsule, 0.5);
        PartSensitivity at_drawn(of_drawn, parts);
        PartSensitivity at_tilted(of_tilted, parts);
        for (const MeasureRecord& record : measure_records()) {
            if (!record.at_setting || without_sensitivity.contains(record.name)) continue;
            const Board& board = record.cusp ? tilted : drawn;
            PartSensitivity& sensitivity = record.cusp ? at_tilted : at_drawn;
            MeasureArguments arguments;
            arguments.at_hz = 40;
            arguments.part = "U1";
            const auto found = slope_of(record, arguments, sensitivity);
            const bool in_db = record.unit == Unit::volt;
            const bool in_percent = record.unit == Unit::hertz || record.unit == Unit::ohm;
            const auto value = [&](std::size_t part, double deviation) {
                Board moved = board;
                stray(moved.parts[part], deviation);
                Setting setting(moved, capsule, 0.5);
                const double v = record.at_setting(setting, arguments).value;
                if (!in_db && !in_percent) return v;
                return (in_db ? 20 / std::log(10.0) : 100.0) * std::log(v);
            };
            // The error of a figure whose slope is small: extremes are sharpened, and
            // integrals taken, to 1e-7.
            const double small = record.unit == Unit::second ? 1e-10 : 2e-5;
            for (std::size_t k = 0; k < parts.size(); ++k) {
                constexpr double h = 1e-3;
                const double slope =
                    (value(parts[k], std::expm1(h)) - value(parts[k], std::expm1(-h))) / (2 * h) *
                    0.01;
                CAPTURE(name, record.name, board.parts[parts[k]].name, slope);
                CHECK_THAT(found[k], WithinAbs(slope, small + 1e-3 * std::abs(slope)));
            }
        }
    }
}

TEST_CASE("sensitivities over the knob are differences between two positions") {
    const Board board = test::demo_board("heron-c");
    const std::vector<Figure> figures{
        {"", board.input.capsule, unset, &standard_figure("gain_range"), 1, ""},
        {"", board.input.capsule, unset, &standard_figure("gain_step"), 1, ""}};
    const FigureSlopes slopes = find_slopes(board, "", figures);
    for (std::size_t i = 0; i < figures.size(); ++i) {
        const MeasureRecord& record = *figures[i].figure->measure;
        for (std::size_t k = 0; k < slopes.parts.size(); ++k) {
            const auto value = [&](double deviation) {
                Board moved = board;
                const auto part =
                    std::find_if(moved.parts.begin(), moved.parts.end(),
                                 [&](const Part& p) { return p.name == slopes.parts[k]; });
                stray(*part, deviation);
                Assembly assembly(moved, "", moved.input.capsule);
                return value_of(record, {}, assembly, unset).value;
            };
            constexpr double h = 1e-3;
            const double slope = (value(std::expm1(h)) - value(std::expm1(-h))) / (2 * h) * 0.01;
            CAPTURE(record.name, slopes.parts[k], slope);
            CHECK_THAT(slopes.per_percent[i][k], WithinAbs(slope, 1e-6 + 1e-3 * std::abs(slope)));
        }
    }
}

TEST_CASE("what is no linear function of one solution has no sensitivity") {
    const Board board = test::demo_board("heron-c");
    for (const std::string_view name : without_sensitivity) {
        CAPTURE(name);
        for (const double each : per_percent(board, name.data())) CHECK(std::isnan(each));
    }
}

}  // namespace lowhiss::sensitivity_test
