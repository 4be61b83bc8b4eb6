// Random boards and their statistics, on dividers whose spread has a closed form.

#include "lowhiss/series/spread.hpp"

#include <atomic>
#include <cmath>
#include <stdexcept>

#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::spread_test {

const std::string divider = R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"], tolerance = "1 %" }
R2 = { resistor = "1k", pins = ["out", "gnd"], tolerance = "1 %" }
[input]
plus = "in"
[output]
plus = "out"
)";

const std::string gain_limit = R"(
[[limit]]
name = "gain"
measure = "gain"
min = "-6.07 dB"
max = "-5.97 dB"
)";

double ohm(const Board& board, std::string_view name) {
    return std::get<Resistor>(find_part(board, name)->data).resistance_ohm;
}

SpreadRequest request_for(const Board& board, std::size_t count, std::uint64_t first = 0) {
    return {{}, first, count, "", board.limits};
}

Spread spread_from(const std::string& text, std::size_t count, std::uint64_t first = 0) {
    const Board board = test::board_from_text(text);
    return spread_of(board, request_for(board, count, first));
}

/// The rms deviation of the part over the first boards of the series.
struct Strayed {
    double rms = 0;
    double most = 0;
};

Strayed strayed(const Board& board, const BoardSeries& series, std::string_view name,
                std::uint64_t count) {
    Strayed result;
    for (std::uint64_t k = 0; k < count; ++k) {
        const double off = ohm(random_board(board, series, k), name) / ohm(board, name) - 1;
        result.rms += off * off / static_cast<double>(count);
        result.most = std::max(result.most, std::abs(off));
    }
    result.rms = std::sqrt(result.rms);
    return result;
}

TEST_CASE("a part strays by seed, index and its own name alone") {
    const Board board = test::board_from_text(divider);
    std::string text = divider;
    text.replace(text.find("[input]"), 0,
                 "R0 = { resistor = \"1M\", pins = [\"in\", \"gnd\"], tolerance = \"5 %\" }\n");
    const Board more = test::board_from_text(text);
    for (const std::uint64_t index : {0U, 1U, 77U}) {
        const Board drawn = random_board(board, {}, index);
        CHECK(ohm(drawn, "R1") == ohm(random_board(more, {}, index), "R1"));
        CHECK(ohm(drawn, "R1") != ohm(drawn, "R2"));
        CHECK(ohm(drawn, "R1") != ohm(random_board(board, {}, index + 1), "R1"));
        CHECK(ohm(drawn, "R1") !=
              ohm(random_board(board, {2, Distribution::uniform}, index), "R1"));
    }
}

TEST_CASE("deviations are uniform or normal within the tolerance") {
    // Even: t / sqrt 3. Normal, t as three sigma and cut there: the variance of a standard normal
    // cut at c is 1 - 2 c phi(c) / (2 Phi(c) - 1), at c = 3 it is 0.97334 (common textbook result).
    constexpr std::uint64_t count = 20000;
    const Board board = test::board_from_text(divider);
    const Strayed even = strayed(board, {}, "R1", count);
    // The standard error of a variance is about sqrt(0.8 / n) even, sqrt(2 / n) normal: 1 %.
    CHECK_THAT(even.rms, WithinRel(0.01 / std::sqrt(3), 0.015));
    CHECK(even.most <= 0.01);
    CHECK(even.most > 0.00999);
    const Strayed normal = strayed(board, {1, Distribution::normal}, "R1", count);
    CHECK_THAT(normal.rms, WithinRel(0.01 / 3 * std::sqrt(0.97334), 0.02));
    CHECK(normal.most <= 0.01);
}

TEST_CASE("parts of one reel stray together") {
    const Board board = test::board_from_text(
        divider + "[matched.array]\nparts = [\"R1\", \"R2\"]\nwithin = \"0.1 %\"\n");
    double most_apart = 0;
    double most = 0;
    for (std::uint64_t k = 0; k < 2000; ++k) {
        const Board drawn = random_board(board, {}, k);
        most = std::max(most, std::abs(ohm(drawn, "R1") / 1000 - 1));
        most_apart = std::max(most_apart, std::abs(ohm(drawn, "R1") - ohm(drawn, "R2")) / 1000);
    }
    CHECK(most > 0.0099);
    CHECK(most <= 0.011);
    CHECK(most_apart > 0.0017);
    CHECK(most_apart <= 0.002);
}

TEST_CASE("the spread of a divider is the one of its formula, its worst case the ends") {
    const Spread spread = spread_from(divider + gain_limit, 4000);
    REQUIRE(spread.limits.size() == 1);
    const LimitSpread& gain = spread.limits[0];
    // To first order the gain moves by 20 log10(e) (e2 - e1) / 2: sigma 8.686 * 0.01 / sqrt 6.
    const double sigma_db = 20 / std::log(10) * 0.01 / std::sqrt(6);
    CHECK_THAT(gain.statistics.sigma, WithinRel(sigma_db, 0.03));
    CHECK_THAT(gain.statistics.nominal, WithinRel(20 * std::log10(0.5), 1e-5));
    CHECK_THAT(gain.found.lowest.value, WithinRel(20 * std::log10(0.99 / 2), 1e-10));
    CHECK_THAT(gain.found.highest.value, WithinRel(20 * std::log10(1.01 / 2), 1e-10));
    REQUIRE(gain.parts.effects.size() == 2);
    CHECK(gain.parts.effects[0].draw.name == "R2");
    CHECK_THAT(gain.parts.effects[0].at_low_end, WithinRel(20 * std::log10(1.98 / 1.99), 1e-9));
    CHECK_THAT(gain.parts.effects[1].at_low_end, WithinRel(20 * std::log10(2 / 1.99), 1e-9));
    // A triangle of +-0.0869 dB about -6.0206 dB within -0.0494 and +0.0506 dB: the share inside is
    // 1 - ((1 - 0.0494/0.0869)^2 + (1 - 0.0506/0.0869)^2) / 2.
    const double t = sigma_db * std::sqrt(6);
    const double below = 1 - (20 * std::log10(0.5) + 6.07) / t;
    const double above = 1 - (-5.97 - 20 * std::log10(0.5)) / t;
    const double share = 1 - (below * below + above * above) / 2;
    CHECK(spread.yield.low < share);
    CHECK(spread.yield.high > share);
    CHECK(spread.yield.good == gain.yield.good);
}

TEST_CASE("a board of a series is the same alone, in a shard and in the whole") {
    const Spread whole = spread_from(divider + gain_limit, 150);
    const Spread shard = spread_from(divider + gain_limit, 20, 100);
    for (std::size_t k = 0; k < 20; ++k) {
        CHECK(whole.limits[0].values[100 + k] == shard.limits[0].values[k]);
    }
    const Board board = test::board_from_text(divider);
    const LimitSpread& gain = whole.limits[0];
    const Board worst = random_board(board, {}, gain.worst_board);
    const double ratio = ohm(worst, "R2") / (ohm(worst, "R1") + ohm(worst, "R2"));
    CHECK_THAT(gain.values[gain.worst_board], WithinRel(20 * std::log10(ratio), 1e-12));
    CHECK(gain.statistics.min == gain.values[gain.statistics.board_of_min]);
    CHECK(gain.statistics.max == gain.values[gain.statistics.board_of_max]);
}

TEST_CASE("stretches of a series, put together, have the spread of the whole bit for bit") {
    const Board board = test::board_from_text(divider + gain_limit);
    SpreadRequest request = request_for(board, 90);
    const Spread whole = spread_of(board, request);
    const BoardCheck nominal = check_nominal(board, request);
    std::vector<SeriesValues> stretches;
    request.first = 0;
    for (const std::size_t count : {1U, 40U, 49U}) {
        request.count = count;
        stretches.push_back(compute_series(board, request, nominal));
        CHECK(stretches.back().count == count);
        request.first += count;
    }
    const std::vector<SeriesValues> twice{stretches[0], stretches[2]};
    CHECK_THROWS_AS(joined(std::vector(twice)), std::invalid_argument);
    const SeriesValues series = joined(std::move(stretches));
    request.first = 0;
    request.count = 90;
    const Spread parts = spread_from(board, request, nominal,
                                     find_effects(board, "", request.limits, nominal.verdicts),
                                     find_slopes(board, "", nominal.figures), series);
    CHECK(parts.yield.good == whole.yield.good);
    CHECK(parts.yield.low == whole.yield.low);
    CHECK(parts.limits[0].values == whole.limits[0].values);
    CHECK(parts.limits[0].worst_board == whole.limits[0].worst_board);
    CHECK(parts.limits[0].statistics.sigma == whole.limits[0].statistics.sigma);
    CHECK(parts.limits[0].found.lowest.value == whole.limits[0].found.lowest.value);
    REQUIRE(parts.figures.size() == whole.figures.size());
    for (std::size_t k = 0; k < parts.figures.size(); ++k) {
        const Statistics& a = parts.figures[k].statistics;
        const Statistics& b = whole.figures[k].statistics;
        CHECK((a.count == b.count && (a.mean == b.mean || a.count == 0)));
    }
}

TEST_CASE("a series that is told to stop is the beginning of the whole") {
    const Board board = test::board_from_text(divider + gain_limit);
    const SpreadRequest request = request_for(board, 300);
    const BoardCheck nominal = check_nominal(board, request);
    const SeriesValues whole = compute_series(board, request, nominal);
    std::atomic<std::size_t> told{0};
    bool falls_back = false;
    const Watch watch{[&](std::size_t done) {
                          if (done < told) falls_back = true;
                          told = done;
                      },
                      [&] { return told >= 100; }};
    const SeriesValues cut = compute_series(board, request, nominal, watch);
    CHECK_FALSE(falls_back);
    CHECK(cut.count >= 100);
    REQUIRE(cut.count < 300);  // every core finishes the board it is at
    const auto& values = whole.limits[0].values;
    CHECK(cut.limits[0].values ==
          std::vector<double>(values.begin(), values.begin() + static_cast<long>(cut.count)));
    CHECK(cut.limits[0].margins.size() == cut.count);
    CHECK(cut.figures[0].size() == cut.count);
    const Watch never{[](std::size_t) {}, [] { return true; }};
    CHECK(compute_series(board, request, nominal, never).count == 0);
}

TEST_CASE("mismatch of a difference amplifier's resistors is as published") {
    // Both inputs driven together, gain 1, resistors of 1 %: the output is the common-mode gain.
    // Worst case: CMRR = (1 + G) / (4 t) = 34 dB (Sedra and Smith, Microelectronic Circuits, on the
    // difference amplifier; Texas Instruments, data sheet RES11A), 33.9794 dB exactly. Spread
    // evenly, four deviations of t / sqrt 3 each, halved: t / sqrt 3 rms.
    const std::string amplifier = R"(
[parts]
R1 = { resistor = "10k", pins = ["in", "minus"], tolerance = "1 %" }
R2 = { resistor = "10k", pins = ["minus", "out"], tolerance = "1 %" }
R3 = { resistor = "10k", pins = ["in", "plus"], tolerance = "1 %" }
R4 = { resistor = "10k", pins = ["plus", "gnd"], tolerance = "1 %" }
U1 = { opamp = "good", plus = "plus", minus = "minus", out = "out" }
[input]
plus = "in"
[output]
plus = "out"
[opamp.good]
open_loop_gain = "200 dB"
gain_bandwidth = "10 GHz"
[[limit]]
name = "common mode"
measure = "gain"
max = "-33.97 dB"
)";
    const Spread spread = spread_from(amplifier, 4000);
    const LimitSpread& limit = spread.limits[0];
    CHECK(spread.yield.good == 4000);
    double power = 0;
    for (const double gain_db : limit.values) power += std::pow(10, gain_db / 10) / 4000;
    CHECK_THAT(std::sqrt(power), WithinRel(0.01 / std::sqrt(3), 0.03));
    // Four parts with uniform deviations come within a tenth of their common worst case in 0.04 %
    // of boards.
    CHECK(limit.statistics.max > -36.5);
    CHECK(limit.statistics.max < -33.9794);
}

TEST_CASE("the interval of a yield is the exact one") {
    // Clopper and Pearson, Biometrika 26 (1934); the middle one is in every table of it. Of n good
    // ones out of n the lower end is 0.025^(1/n).
    CHECK_THAT(yield_of(5, 10).low, WithinAbs(0.1871, 5e-5));
    CHECK_THAT(yield_of(5, 10).high, WithinAbs(0.8129, 5e-5));
    CHECK_THAT(yield_of(100, 100).low, WithinRel(std::pow(0.025, 0.01), 1e-9));
    CHECK(yield_of(100, 100).high == 1);
    CHECK(yield_of(0, 100).low == 0);
    CHECK(std::isnan(yield_of(0, 0).share));
}

TEST_CASE("statistics leave out what does not exist") {
    const Statistics s = statistics_of({3, unset, 1, infinite, 2}, 10);
    CHECK(s.count == 3);
    CHECK(s.mean == 2);
    CHECK(s.sigma == 1);
    CHECK(s.median == 2);
    CHECK_THAT(s.percentile_1, WithinRel(1.02, 1e-5));
    CHECK(s.board_of_min == 12);
    CHECK(s.board_of_max == 10);
    CHECK(statistics_of({unset}, 0).count == 0);
}

}  // namespace lowhiss::spread_test
