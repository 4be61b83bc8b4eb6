// Comparison at equal gain, on a divider whose rotation has a closed form.

#include "lowhiss/sweep/compare.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/figures.hpp"

#include <cmath>

#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::compare_test {

const test::Stage volume{.parts = R"(
RV1 = { potentiometer = "10k", pins = ["gnd", "out", "in"] }
)",
                         .tables = R"(
[knob]
part = "RV1"
)"};

const test::Stage reversed{.parts = R"(
RV1 = { potentiometer = "10k", pins = ["in", "out", "gnd"] }
)",
                           .tables = volume.tables};

const test::Stage fixed{.parts = R"(
R1 = { resistor = "9k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)"};

double rotation(const test::Stage& stage, double gain_db) {
    const Board board = test::board_of(stage);
    Assembly assembly(board, "", board.input.capsule);
    return rotation_at_gain(assembly, gain_db);
}

TEST_CASE("the knob is turned to a gain, whichever way it works") {
    CHECK_THAT(rotation(volume, -20), WithinAbs(0.1, 1e-8));
    CHECK_THAT(rotation(reversed, -20), WithinAbs(0.9, 1e-8));
    CHECK_THAT(rotation(volume, 0), WithinAbs(1, 1e-8));
    CHECK(std::isnan(rotation(volume, 1)));
    CHECK(rotation(fixed, -20) == 0);
    CHECK(std::isnan(rotation(fixed, -19)));
}

TEST_CASE("boards are compared at equal gain, with the noise of each part at the input") {
    const Board turned = test::board_of(volume);
    const Board still = test::board_of(fixed);
    const auto results = compare({{&turned, &still}, {}, {-20, -6}});
    REQUIRE(results.size() == 2);
    const ComparedPosition& there = results[0][0];
    CHECK(there.reached);
    CHECK_THAT(there.rotation, WithinAbs(0.1, 1e-8));
    // Both are 1 kohm parallel to 9 kohm: 900 ohm of noise, over a gain of 0.1.
    const double thermal_v = std::sqrt(4 * 1.380649e-23 * 293.15 * 900 * 19980) / 0.1;
    REQUIRE(there.noise.size() == 1);
    CHECK(there.noise[0].part == "RV1");
    CHECK_THAT(there.noise[0].input_v, WithinRel(thermal_v, 1e-6));
    CHECK_THAT(there.noise[0].share, WithinRel(1, 1e-5));
    // The 1 kohm to ground makes nine tenths of the 900 ohm.
    REQUIRE(results[1][0].noise.size() == 2);
    CHECK(results[1][0].noise[0].part == "R2");
    CHECK_THAT(results[1][0].noise[0].share, WithinRel(0.9, 1e-5));
    CHECK(!results[1][1].reached);
    CHECK(results[1][1].figures.empty());
}

}  // namespace lowhiss::compare_test
