// A potentiometer as a divider: wiper over clockwise end is (e + R t(x)) / (2e + R).

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::potentiometer_test {

test::Stage divider(const std::string& keys) {
    return {.parts = "RV1 = { potentiometer = \"10k\", pins = [\"gnd\", \"out\", \"in\"]" + keys +
                     " }\n",
            .tables = "[knob]\npart = \"RV1\"\npositions = [0, 0.5, 1]\n"};
}

double fraction(const std::string& keys, double rotation) {
    return test::network_of(divider(keys), rotation).respond(1000).gain.real();
}

constexpr double rotations[] = {0.1, 0.25, 0.5, 0.6, 0.9};

TEST_CASE("a linear track divides as it is turned") {
    for (const double x : rotations) CHECK_THAT(fraction("", x), test::CloseTo(x, test::close));
}

TEST_CASE("a log track is (b^x - 1) / (b - 1), b = (1/m - 1)^2, and its midpoint is m") {
    for (const double m : {0.05, 0.15, 0.3, 0.5, 0.7}) {
        const std::string keys = fmt::format(", taper = \"log\", midpoint = {}", m);
        CAPTURE(m);
        CHECK_THAT(fraction(keys, 0.5), test::CloseTo(m, test::close));
        const double b = (1 / m - 1) * (1 / m - 1);
        for (const double x : rotations) {
            // The limit of the law at m = 1/2 is the linear track.
            const double law = m == 0.5 ? x : (std::pow(b, x) - 1) / (b - 1);
            CHECK_THAT(fraction(keys, x), test::CloseTo(law, test::close));
        }
    }
    CHECK_THAT(fraction(", taper = \"log\"", 0.5), test::CloseTo(0.15, test::close));
}

TEST_CASE("a reverse-log track is a log track seen from its other end") {
    for (const double x : rotations) {
        CAPTURE(x);
        const double log = fraction(", taper = \"log\", midpoint = 0.1", 1 - x);
        const double reverse = fraction(", taper = \"reverse-log\", midpoint = 0.1", x);
        CHECK_THAT(reverse, test::CloseTo(1 - log, test::close));
    }
}

TEST_CASE("a track from a table is linear between its points") {
    const std::string keys = ", taper = [[0, 0], [0.2, 0.02], [0.7, 0.32], [1, 1]]";
    const double expected[][2] = {{0, 0},      {0.1, 0.01},  {0.2, 0.02}, {0.45, 0.17},
                                  {0.7, 0.32}, {0.85, 0.66}, {1, 1}};
    for (const auto& [x, t] : expected) {
        CAPTURE(x);
        CHECK_THAT(fraction(keys, x), WithinAbs(t, test::close));
    }
}

TEST_CASE("the end resistance stays in circuit at both ends") {
    const std::string keys = ", end_resistance = \"50R\"";
    CHECK_THAT(fraction(keys, 0), test::CloseTo(50.0 / 10100, test::close));
    CHECK_THAT(fraction(keys, 1), test::CloseTo(10050.0 / 10100, test::close));
    CHECK_THAT(test::network_of(divider(keys), 0.3).circuit().knob_ohm, WithinAbs(3050, 1e-9));
}

TEST_CASE("without end resistance the wiper reaches both ends exactly") {
    CHECK(fraction("", 0) == 0);
    CHECK(fraction("", 1) == 1);
}

TEST_CASE("a ganged knob turns all its tracks; a trimmer stands where it was set") {
    const test::Stage ganged{.parts = R"(
RV1 = { potentiometer = "10k", pins = ["gnd", "a", "in"] }
E1 = { voltage_gain = 1, control = ["a", "gnd"], pins = ["b", "gnd"] }
RV2 = { potentiometer = "4k7", pins = ["gnd", "c", "b"], taper = "log", midpoint = 0.2 }
E2 = { voltage_gain = 1, control = ["c", "gnd"], pins = ["d", "gnd"] }
RV3 = { potentiometer = "22k", pins = ["gnd", "out", "d"], position = 0.7 }
)",
                             .tables = "[knob]\npart = [\"RV1\", \"RV2\"]\npositions = [0.5]\n"};
    CHECK_THAT(test::network_of(ganged, 0.5).respond(1000).gain,
               test::CloseTo(0.5 * 0.2 * 0.7, test::close));
}

TEST_CASE("a track hisses as its two parts in parallel") {
    Network network = test::network_of(divider(", end_resistance = \"50R\""), 0.3);
    const double ohm = 3050.0 * 7050.0 / 10100.0;
    CHECK_THAT(test::output_noise_v2_hz(network, 1000),
               WithinRel(test::thermal_v2_hz(ohm), test::close));
}

}  // namespace lowhiss::potentiometer_test
