// The value that centres a board between the bounds of a limit, against an exhaustive loop over a
// closed form: G = 1 + R2 / R8.

#include "lowhiss/series/centring.hpp"

#include <cmath>

#include "lowhiss/quantity/preferred.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::centring_test {

std::string amplifier(const std::string& r2, const std::string& rest = "") {
    return R"([parts]
E1 = { voltage_gain = 1e13, control = ["in", "fb"], pins = ["out", "gnd"] }
R2 = { resistor = ")" +
           r2 + R"(", pins = ["out", "fb"], tolerance = "5 %" }
R8 = { resistor = "15R", pins = ["fb", "gnd"], tolerance = "5 %" }
R1 = { resistor = "10k", pins = ["in", "gnd"], tolerance = "5 %" }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "gain"
measure = "gain"
min = "54.9 dB"
max = "55.9 dB"
)" + rest;
}

double gain_db(double r2, double r8) {
    return 20 * std::log10(1 + r2 / r8);
}

SpreadRequest request_for(const Board& board) {
    SpreadRequest request;
    request.count = 400;
    request.limits = board.limits;
    request.figures = false;
    return request;
}

TEST_CASE("the preferred value nearest to the middle is found, and the yield with it") {
    const Board board = test::board_from_text(amplifier("10k"));
    const SpreadRequest request = request_for(board);
    const Spread spread = spread_of(board, request);
    const auto centring = find_centring(board, request, spread);
    REQUIRE(centring);
    double best = infinite;
    std::string part;
    double value = 0;
    const auto consider = [&](const char* name, double ohm, double db) {
        if (std::abs(db - 55.4) >= best || db < 54.9 || db > 55.9) return;
        best = std::abs(db - 55.4);
        part = name;
        value = ohm;
    };
    for (const double ohm : preferred_values("E24", 5e3, 20e3))
        consider("R2", ohm, gain_db(ohm, 15));
    for (const double ohm : preferred_values("E24", 7.5, 30))
        consider("R8", ohm, gain_db(10e3, ohm));
    CHECK(centring->parts == std::vector<std::string>{part});
    CHECK(centring->value == value);
    CHECK(centring->series == "E24");
    const double sigma = spread.limits.front().statistics.sigma;
    CHECK(centring->off_sigma == Approx((gain_db(10e3, 15) - 55.4) / sigma).epsilon(1e-6));
    CHECK(std::abs(centring->off_sigma_then) == Approx(best / sigma).epsilon(1e-6));
    CHECK(centring->yield_then.good > centring->yield.good);

    // The yield is that of a board with this value.
    REQUIRE(part == "R2");
    const Board changed = test::board_from_text(amplifier(std::to_string(value)));
    CHECK(spread_of(changed, request_for(changed)).yield.good == centring->yield_then.good);
}

TEST_CASE("a board in the middle, or one that no board fails, is left as it is") {
    const auto centring_of = [](const std::string& text) {
        const Board board = test::board_from_text(text);
        const SpreadRequest request = request_for(board);
        return find_centring(board, request, spread_of(board, request));
    };
    CHECK_FALSE(centring_of(amplifier("8k82")));  // 55.395 dB
    std::string wide = amplifier("10k");
    wide.replace(wide.find("54.9"), 4, "45.0").replace(wide.find("55.9"), 4, "65.0");
    CHECK_FALSE(centring_of(wide));
    std::string one_sided = amplifier("10k");
    one_sided.erase(one_sided.find("min = "), 16);
    CHECK_FALSE(centring_of(one_sided));
}

// R8's share of the noise is R2 / (R2 + R8): 99.850 % as drawn, 99.835 % with 9.1 k, 99.840 % with
// 16 R, which leaves the bounds of the gain.
TEST_CASE("a value that another limit forbids is not advised") {
    const Board board = test::board_from_text(
        amplifier("10k",
                  "[[limit]]\nname = \"share\"\nmeasure = \"noise_share\"\npart = \"R8\"\n"
                  "min = \"99.84 %\"\n"));
    const SpreadRequest request = request_for(board);
    CHECK_FALSE(find_centring(board, request, spread_of(board, request)));
}

TEST_CASE("parts of a matched group are changed together") {
    const Board board = test::board_from_text(R"([parts]
E1 = { voltage_gain = 1e13, control = ["in", "fb"], pins = ["out", "gnd"] }
R2 = { resistor = "5k", pins = ["out", "m"], tolerance = "5 %" }
R3 = { resistor = "5k", pins = ["m", "fb"], tolerance = "5 %" }
R8 = { resistor = "15R", pins = ["fb", "gnd"] }
[matched.pair]
parts = ["R2", "R3"]
within = "0.1 %"
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "gain"
measure = "gain"
min = "54.9 dB"
max = "55.9 dB"
)");
    const SpreadRequest request = request_for(board);
    const auto centring = find_centring(board, request, spread_of(board, request));
    REQUIRE(centring);
    CHECK(centring->parts == std::vector<std::string>{"R2", "R3"});
    CHECK(centring->value == 4300);
}

TEST_CASE("each tolerance has its series") {
    CHECK(series_for({-0.01, 0.01}) == "E96");
    CHECK(series_for({-0.05, 0.05}) == "E24");
    CHECK(series_for({-0.1, 0.1}) == "E12");
    CHECK(series_for({-0.2, 0.2}) == "E6");
    CHECK(series_for({-0.2, 0.5}) == "E3");
    CHECK(series_for({-0.001, 0.001}) == "E192");
}

}  // namespace lowhiss::centring_test
