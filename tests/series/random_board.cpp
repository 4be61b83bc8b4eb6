// The random choices of a board: tolerances with two ends, a temperature, op-amps worse than
// typical.

#include "lowhiss/series/random_board.hpp"

#include <fmt/format.h>

#include <cmath>
#include <functional>

#include "docs/approve.hpp"
#include "lowhiss/board/board_lines.hpp"
#include "lowhiss/series/spread.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::random_board_test {

constexpr BoardSeries even{};
constexpr BoardSeries normal{1, Distribution::normal};

double ohm(const Board& board, std::string_view name) {
    return std::get<Resistor>(find_part(board, name)->data).resistance_ohm;
}

double farad(const Board& board, std::string_view name) {
    return std::get<Capacitor>(find_part(board, name)->data).capacitance_f;
}

struct Moments {
    double mean = 0;
    double variance = 0;
    double least = infinite;
    double most = -infinite;
};

/// Mean and spread of a figure over the first boards of a series.
Moments moments(const Board& board, const BoardSeries& series, std::uint64_t count,
                const std::function<double(const Board&)>& figure) {
    Moments m;
    double square = 0;
    for (std::uint64_t k = 0; k < count; ++k) {
        const double x = figure(random_board(board, series, k));
        m.mean += x / static_cast<double>(count);
        square += x * x / static_cast<double>(count);
        m.least = std::min(m.least, x);
        m.most = std::max(m.most, x);
    }
    m.variance = square - m.mean * m.mean;
    return m;
}

const std::string lopsided =
    R"(C1 = { capacitor = "10u", pins = ["in", "out"], tolerance = ["-20 %", "+80 %"] }
R1 = { resistor = "1k", pins = ["out", "gnd"], tolerance = "5 %" }
)";

const std::string range = "temperature_range = [\"0 degC\", \"40 degC\"]";

/// The frequency at which a high pass of first order is 3.01 dB under its gain at 1 kHz, which is
/// not quite 1: f0 over sqrt(1 + 2 (f0 / 1 kHz)^2).
double corner_hz(double time_s) {
    const double f0_hz = 1 / (2 * test::pi * time_s);
    return f0_hz / std::sqrt(1 + 2 * std::pow(f0_hz / 1e3, 2));
}

constexpr std::uint64_t many = 20000;

TEST_CASE("a part's random number is Philox of seed, index, name and purpose") {
    // Computed apart from this program: philox4x32-10 written down from the paper in Python, after
    // it gave the published answer 6627e8d5 e169c58d bc57ac4c 9b00dbd8 for zeros, and zlib.crc32.
    const Board board = test::board_of(
        {.parts = "R1 = { resistor = \"1k\", pins = [\"in\", \"out\"], tolerance = \"1 %\" }\n",
         .board = range});
    CHECK_THAT(ohm(random_board(board, {1, Distribution::uniform}, 0), "R1"),
               WithinRel(1000.3523769079796, 1e-15));
    CHECK_THAT(ohm(random_board(board, {5, Distribution::uniform}, 77), "R1"),
               WithinRel(1002.4476237648023, 1e-15));
    CHECK_THAT(random_board(board, even, 3).temperature_k, WithinRel(303.7658140300642, 1e-15));
}

TEST_CASE("a tolerance with two ends strays evenly between them") {
    const Board board = test::board_of({.parts = lopsided});
    const Moments m = moments(board, even, many, [](const Board& b) { return farad(b, "C1"); });
    // Even on [8, 18] uF: mean 13 uF, variance 10^2 / 12. Standard error of the mean 0.2 %.
    CHECK_THAT(m.mean, WithinRel(13e-6, 0.006));
    CHECK_THAT(m.variance, WithinRel(1e-10 / 12, 0.02));
    CHECK(m.least >= 8e-6);
    CHECK(m.least < 8.01e-6);
    CHECK(m.most <= 18e-6);
    CHECK(m.most > 17.99e-6);
}

TEST_CASE("a tolerance with two ends strays by the two-piece normal distribution") {
    // Wallis, Statistical Science 29 (2014): the share s1 / (s1 + s2) is below the mode, the mean
    // sqrt(2/pi) (s2 - s1) above it. Here both halves are cut at three sigma, so that the first
    // moment of half a normal is 2 (phi(0) - phi(3)) / (2 Phi(3) - 1) = 0.79118 in place of
    // sqrt(2/pi) = 0.79788, and the second 0.97334 in place of 1.
    const Board board = test::board_of({.parts = lopsided});
    const auto off = [](const Board& b) { return farad(b, "C1") / 10e-6 - 1; };
    const double s1 = 0.2 / 3;
    const double s2 = 0.8 / 3;
    const Moments m = moments(board, normal, many, off);
    const double mean = 0.79118 * (s2 - s1);
    CHECK_THAT(m.mean, WithinRel(mean, 0.02));
    const double square = 0.97334 * (s1 * s1 * s1 + s2 * s2 * s2) / (s1 + s2);
    CHECK_THAT(m.variance, WithinRel(square - mean * mean, 0.03));
    CHECK(m.least >= -0.2);
    CHECK(m.most <= 0.8);
    CHECK(m.most > 0.7);
    const Moments below =
        moments(board, normal, many, [&](const Board& b) { return off(b) < 0 ? 1.0 : 0.0; });
    CHECK_THAT(below.mean, WithinAbs(0.2, 0.01));  // standard error 0.0028
}

TEST_CASE("one value and its two ends, written out, are the same tolerance") {
    const std::string part = "R1 = { resistor = \"1k\", pins = [\"in\", \"out\"], tolerance = ";
    const Board one = test::board_of({.parts = part + "\"5 %\" }\n"});
    const Board two = test::board_of({.parts = part + "[\"-5 %\", \"5 %\"] }\n"});
    for (std::uint64_t k = 0; k < 50; ++k) {
        CHECK(ohm(random_board(one, even, k), "R1") == ohm(random_board(two, even, k), "R1"));
        CHECK(ohm(random_board(one, normal, k), "R1") == ohm(random_board(two, normal, k), "R1"));
    }
    CHECK(part_text(one.parts[0]) == "resistor 1 kΩ, tolerance 5 %");
    CHECK(part_text(two.parts[0]) == "resistor 1 kΩ, tolerance 5 %");
    CHECK(part_text(test::board_of({.parts = lopsided}).parts[0]) ==
          "capacitor 10 µF, tolerance -20 % to 80 %");
}

TEST_CASE("the corner of an RC spreads as the product of two even distributions") {
    // 1 / f = 2 pi R C. For independent factors E[(RC)^2] = E[R^2] E[C^2].
    const Board board = test::board_of({.parts = lopsided, .tables = R"(
[[limit]]
name = "bass"
measure = "low_corner"
max = "21 Hz"
)"});
    const SpreadRequest request{even, 0, 4000, "", board.limits};
    const Spread spread = spread_of(board, request);
    const LimitSpread& bass = spread.limits.at(0);
    double mean = 0;
    double square = 0;
    for (const double value_hz : bass.values) {
        // The corner formula, turned round.
        const double f0_hz = value_hz / std::sqrt(1 - 2 * std::pow(value_hz / 1e3, 2));
        const double time_s = 1 / (2 * test::pi * f0_hz);
        mean += time_s / 4000;
        square += time_s * time_s / 4000;
    }
    const double r2 = 1e3 * 1e3 * (1 + 0.05 * 0.05 / 3);
    const double c2 = 1e-10 * (1.3 * 1.3 + 1.0 / 12);
    CHECK_THAT(mean, WithinRel(13e-3, 0.01));
    CHECK_THAT(square - mean * mean, WithinRel(r2 * c2 - 13e-3 * 13e-3, 0.04));
    // Each part at its ends, and both at theirs.
    const double nominal_hz = corner_hz(10e-3);
    const PartEffect& most = bass.parts.effects.at(0);
    CHECK(most.draw.name == "C1");
    CHECK_THAT(most.at_low_end, WithinRel(corner_hz(8e-3) - nominal_hz, 1e-6));
    CHECK_THAT(most.at_high_end, WithinRel(corner_hz(18e-3) - nominal_hz, 1e-6));
    CHECK_THAT(bass.found.lowest.value, WithinRel(corner_hz(18e-3 * 1.05), 1e-6));
    CHECK_THAT(bass.found.highest.value, WithinRel(corner_hz(8e-3 * 0.95), 1e-6));
}

TEST_CASE("a board with a range has one temperature, evenly from it, and hisses by it") {
    const Board board = test::board_of({.parts = R"(
R1 = { resistor = "10k", pins = ["out", "gnd"] }
R2 = { resistor = "1M", pins = ["in", "gnd"] }
)",
                                        .board = range});
    const Moments m = moments(board, even, many, [](const Board& b) { return b.temperature_k; });
    CHECK_THAT(m.mean, WithinAbs(293.15, 0.3));  // standard error 40 / sqrt(12 n) = 0.08
    CHECK_THAT(m.variance, WithinRel(40.0 * 40 / 12, 0.02));
    CHECK(m.least >= 273.15);
    CHECK(m.most <= 313.15);
    CHECK(m.most - m.least > 39.9);
    const Moments bell =
        moments(board, normal, 100, [](const Board& b) { return b.temperature_k; });
    const Moments same = moments(board, even, 100, [](const Board& b) { return b.temperature_k; });
    CHECK(bell.variance == same.variance);
    for (std::uint64_t k = 0; k < 3; ++k) {
        const Board drawn = random_board(board, even, k);
        Network network = test::network_of(drawn);
        CHECK_THAT(test::output_noise_v2_hz(network, 1e3),
                   WithinRel(test::thermal_v2_hz(10e3, drawn.temperature_k), 1e-11));
    }
}

TEST_CASE("without a range a coefficient does nothing, with one it changes no random number") {
    const std::string plain =
        "R1 = { resistor = \"1k\", pins = [\"in\", \"out\"], tolerance = \"1 %\" }\n";
    const std::string drifting =
        "R1 = { resistor = \"1k\", pins = [\"in\", \"out\"], tolerance = \"1 %\", "
        "temperature_coefficient = \"-100 ppm/K\" }\n";
    const Board before = test::board_of({.parts = plain});
    const Board still = test::board_of({.parts = drifting});
    const Board warm = test::board_of({.parts = drifting, .board = range});
    for (const BoardSeries& series : {even, normal}) {
        for (std::uint64_t k = 0; k < 50; ++k) {
            const double r1 = ohm(random_board(before, series, k), "R1");
            CHECK(ohm(random_board(still, series, k), "R1") == r1);
            CHECK(random_board(still, series, k).temperature_k == 293.15);
            const Board drawn = random_board(warm, series, k);
            CHECK_THAT(ohm(drawn, "R1"),
                       WithinRel(r1 * (1 - 100e-6 * (drawn.temperature_k - 293.15)), 1e-14));
        }
    }
}

TEST_CASE("the corner of an RC goes with temperature by both coefficients and their signs") {
    for (const auto& [r_ppm, c_ppm] : {std::pair{400, -150}, {5000, 5000}, {5000, -5000}}) {
        const Board board = test::board_of(
            {.parts = fmt::format(
                 "C1 = {{ capacitor = \"1u\", pins = [\"in\", \"out\"], temperature_coefficient = "
                 "\"{} ppm/K\" }}\nR1 = {{ resistor = \"10k\", pins = [\"out\", \"gnd\"], "
                 "temperature_coefficient = \"{} ppm/K\" }}\n",
                 c_ppm, r_ppm),
             .board = "temperature = \"25 degC\"\n" + range});
        for (std::uint64_t k = 0; k < 4; ++k) {
            const Board drawn = random_board(board, even, k);
            const double warmer_k = drawn.temperature_k - 298.15;
            CAPTURE(r_ppm, c_ppm, warmer_k);
            CHECK(std::abs(warmer_k) > 0.5);  // or a wrong sign would not show
            const double time_s =
                10e3 * (1 + r_ppm * 1e-6 * warmer_k) * 1e-6 * (1 + c_ppm * 1e-6 * warmer_k);
            CHECK_THAT(test::solve(drawn).measures.low_corner_hz,
                       WithinRel(corner_hz(time_s), 1e-6));
        }
    }
}

TEST_CASE("a coefficient between two ends is the part's own, of a matched group the group's") {
    const std::string parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"], temperature_coefficient = ["-50 ppm/K", "150 ppm/K"] }
R2 = { resistor = "1k", pins = ["out", "gnd"], temperature_coefficient = ["-50 ppm/K", "150 ppm/K"] }
)";
    const Board apart = test::board_of({.parts = parts, .board = range});
    const auto per_k = [](const Board& b, std::string_view name) {
        return (ohm(b, name) / 1e3 - 1) / (b.temperature_k - 293.15);
    };
    const Moments m = moments(apart, even, many, [&](const Board& b) { return per_k(b, "R1"); });
    CHECK_THAT(m.mean, WithinAbs(50e-6, 1.3e-6));  // standard error 0.4 ppm/K
    CHECK_THAT(m.variance, WithinRel(200e-6 * 200e-6 / 12, 0.02));
    // Far from the board's own temperature, where rounding does not blur the quotient.
    const Moments ends = moments(apart, even, 2000, [&](const Board& b) {
        return std::abs(b.temperature_k - 293.15) > 5 ? per_k(b, "R2") : 0;
    });
    CHECK(ends.least > -50.001e-6);
    CHECK(ends.most < 150.001e-6);
    const Board together =
        test::board_of({.parts = parts,
                        .tables = "[matched.array]\nparts = [\"R1\", \"R2\"]\nwithin = \"0.1 %\"\n",
                        .board = range});
    for (std::uint64_t k = 0; k < 20; ++k) {
        const Board loose = random_board(apart, even, k);
        CHECK(std::abs(ohm(loose, "R1") - ohm(loose, "R2")) > 0);
        const Board array = random_board(together, even, k);
        CHECK(ohm(array, "R1") == ohm(array, "R2"));
    }
}

const test::Stage two_followers{.parts = R"(
U1 = { opamp = "good", plus = "in", minus = "mid", out = "mid" }
U2 = { opamp = "good", plus = "mid", minus = "out", out = "out" }
)",
                                .tables = R"(
[opamp.good]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
voltage_noise = "5 nV/rtHz"
cmrr = "100 dB"
worst = { voltage_noise = "6 nV/rtHz", gain_bandwidth = "7 MHz", cmrr = "80 dB" }
[variants.one]
set = { U2 = { note = "the same" } }
)"};

const OpAmpModel& model_of(const Board& board, std::string_view part) {
    return board.models.opamps.at(std::get<OpAmp>(find_part(board, part)->data).model);
}

TEST_CASE("each op-amp's figures lie between typical and worst, each drawn on its own") {
    const Board board = test::board_of(two_followers);
    const auto noise = [](const Board& b) { return model_of(b, "U1").voltage_noise_v_rthz; };
    const Moments m = moments(board, even, many, noise);
    CHECK_THAT(m.mean, WithinRel(5.5e-9, 0.002));
    CHECK_THAT(m.variance, WithinRel(1e-18 / 12, 0.02));
    CHECK(m.least >= 5e-9);
    CHECK(m.most <= 6e-9);
    // Half a bell curve, worst at three sigma and cut there: the mean is 0.79118 sigma.
    const Moments bell = moments(board, normal, many, noise);
    CHECK_THAT(bell.mean, WithinRel(5e-9 + 0.79118 * 1e-9 / 3, 0.002));
    CHECK(bell.least >= 5e-9);
    CHECK(bell.most <= 6e-9);
    const Moments gbw = moments(board, even, many,
                                [](const Board& b) { return model_of(b, "U1").gain_bandwidth_hz; });
    CHECK_THAT(gbw.mean, WithinRel(8.5e6, 0.005));
    CHECK(gbw.least >= 7e6);
    CHECK(gbw.most <= 10e6);
    // A ratio is even in decibels.
    const Moments cmrr = moments(board, even, many, [](const Board& b) {
        return 20 * std::log10(model_of(b, "U1").common.cmrr);
    });
    CHECK_THAT(cmrr.mean, WithinAbs(90, 0.2));
    CHECK_THAT(cmrr.variance, WithinRel(400.0 / 12, 0.02));
    const Board drawn = random_board(board, even, 3);
    // From the same Python as the numbers above.
    CHECK_THAT(noise(drawn), WithinRel(5e-9 + 0.5352725549318544e-9, 1e-14));
    CHECK(model_of(drawn, "U2").voltage_noise_v_rthz != noise(drawn));
    CHECK(model_of(drawn, "U1").open_loop_gain == model_of(board, "U1").open_loop_gain);
    const Board assembled = with_variant(drawn, find_variant(drawn, "one"));
    CHECK(model_of(assembled, "U2").voltage_noise_v_rthz ==
          model_of(drawn, "U2").voltage_noise_v_rthz);
}

TEST_CASE("a preamp IC has figures of its own as an op-amp has, shared ones among them") {
    const Board board = test::board_of({.parts = R"(
U1 = { preamp_ic = "good", plus = "in", minus = "gnd", gain_pins = ["a", "b"], out = "out" }
R1 = { resistor = "100R", pins = ["a", "b"] }
)",
                                        .tables = R"(
[preamp_ic.good]
gain_resistance = "10k"
gain_offset = 1
input_voltage_noise = "1 nV/rtHz"
current_noise = "1 pA/rtHz"
worst = { input_voltage_noise = "2 nV/rtHz", current_noise = "3 pA/rtHz" }
)"});
    for (std::uint64_t k = 0; k < 20; ++k) {
        const Board drawn = random_board(board, even, k);
        const auto& ic = std::get<PreampIc>(find_part(drawn, "U1")->data);
        const PreampIcModel& model = drawn.models.preamp_ics.at(ic.model);
        CHECK(model.input_voltage_noise_v_rthz > 1e-9);
        CHECK(model.input_voltage_noise_v_rthz < 2e-9);
        CHECK(model.common.current_noise_a_rthz > 1e-12);
        CHECK(model.common.current_noise_a_rthz < 3e-12);
        Network network = test::network_of(drawn);
        const double e2 = std::pow(model.input_voltage_noise_v_rthz * 101, 2);
        const double thermal = test::thermal_v2_hz(100) * 100 * 100;
        // The currents flow into an ideal source and into ground.
        CHECK_THAT(test::output_noise_v2_hz(network, 1e3), WithinRel(e2 + thermal, 1e-9));
    }
}

TEST_CASE("the noise of a low-noise op-amp of the library is within its sheet's limits") {
    // NE5534A data sheet, TI SLOS070, from memory: equivalent input noise voltage at 1 kHz 3.5
    // typical and 4.5 nV/rtHz at most, at 30 Hz 5.5 and 7. A follower of an ideal source.
    const Board board =
        *read_board("board.toml",
                    test::memory_reader({
                        {"board.toml", R"(
[board]
include = ["opamps.toml"]
[parts]
U1 = { opamp = "ne5534a", plus = "in", minus = "out", out = "out" }
[input]
plus = "in"
[output]
plus = "out"
)"},
                        {"opamps.toml", test::file_text(LOWHISS_SOURCE_DIR "/netlists/models/"
                                                                           "opamps.toml")},
                    }))
             .board;
    const auto noise_nv = [](double frequency_hz) {
        return [frequency_hz](const Board& b) {
            Network network = test::network_of(b);
            return 1e9 * std::sqrt(test::output_noise_v2_hz(network, frequency_hz));
        };
    };
    const Moments at_1khz = moments(board, even, 400, noise_nv(1000));
    CHECK_THAT(at_1khz.least, WithinAbs(3.5, 0.02));
    CHECK_THAT(at_1khz.most, WithinAbs(4.5, 0.02));
    CHECK_THAT(at_1khz.mean, WithinAbs(4.0, 0.06));  // standard error 1 / sqrt(12 n) = 0.015
    const Moments at_30hz = moments(board, even, 400, noise_nv(30));
    CHECK_THAT(at_30hz.least, WithinAbs(5.5, 0.05));
    CHECK_THAT(at_30hz.most, WithinAbs(7.0, 0.1));
}

TEST_CASE("what a board is compared by tells of temperatures and worst figures") {
    test::Stage stage = two_followers;
    stage.board = range;
    stage.parts +=
        "R1 = { resistor = \"1k\", pins = [\"out\", \"gnd\"], "
        "temperature_coefficient = [\"-50 ppm/K\", \"50 ppm/K\"] }\n";
    std::string text;
    for (const BoardLine& line : board_lines(test::board_of(stage))) {
        text += line.name + ": " + line.text + "\n";
    }
    CHECK(text.find("R1: resistor 1 kΩ, temperature_coefficient ±50 ppm/K\n") != std::string::npos);
    CHECK(text.find("[board]: 20 degC, used at 0 degC to 40 degC\n") != std::string::npos);
    CHECK(text.find("worst (gain_bandwidth 7 MHz, voltage_noise 6 nV/√Hz, cmrr 10k)") !=
          std::string::npos);
}

}  // namespace lowhiss::random_board_test
