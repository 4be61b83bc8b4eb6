// A voltage divider, with and without load.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::divider_test {

const std::string divider = R"(
R1 = { resistor = "9k1", pins = ["in", "out"] }
R2 = { resistor = "1k1", pins = ["out", "gnd"] }
)";

TEST_CASE("a divider is R2 / (R1 + R2)") {
    const test::Stage stage{.parts = divider};
    CHECK_THAT(test::gain_of(stage, 1000), test::CloseTo(1100.0 / 10200.0, test::close));
}

TEST_CASE("a load stands in parallel with the lower resistor") {
    const test::Stage stage{.parts = divider, .output = R"(load = "2k2")"};
    const double lower_ohm = 1100.0 * 2200.0 / 3300.0;
    CHECK_THAT(test::gain_of(stage, 1000),
               test::CloseTo(lower_ohm / (9100 + lower_ohm), test::close));
}

TEST_CASE("a cable turns a divider into a low pass of R1 parallel R2") {
    const test::Stage stage{.parts = divider, .output = R"(cable = "330p")"};
    const double time_s = 9100.0 * 1100.0 / 10200.0 * 330e-12;
    for (const double f_hz : {20.0, 20e3, 500e3, 50e6}) {
        CAPTURE(f_hz);
        const test::Z expected = 1100.0 / 10200.0 / (1.0 + test::s_at(f_hz) * time_s);
        CHECK_THAT(test::gain_of(stage, f_hz), test::CloseTo(expected, test::close));
    }
}

TEST_CASE("the load and the cable do not hiss") {
    Network network =
        test::network_of({.parts = divider, .output = "load = \"2k2\"\ncable = \"330p\""});
    const double r_ohm = 9100.0 * 1100.0 / 10200.0;
    for (const double f_hz : {20.0, 20e3, 5e6}) {
        CAPTURE(f_hz);
        const test::Z load_ohm = test::parallel(2200.0, 1.0 / (test::s_at(f_hz) * 330e-12));
        const double expected =
            test::thermal_v2_hz(r_ohm) * std::norm(load_ohm / (load_ohm + r_ohm));
        CHECK_THAT(test::output_noise_v2_hz(network, f_hz), WithinRel(expected, test::close));
    }
}

TEST_CASE("a resistor of exactly zero is a short, not a large conductance") {
    const test::Stage stage{.parts = divider + R"(
R3 = { resistor = "0", pins = ["out", "gnd"] }
)"};
    CHECK(test::gain_of(stage, 1000) == Complex{});
}

}  // namespace lowhiss::divider_test
