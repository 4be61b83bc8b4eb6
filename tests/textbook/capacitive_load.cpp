// A follower whose open-loop output resistance meets a cable: the classic way to make it ring.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::capacitive_load_test {

using test::Z;

test::Stage follower(double ohm, double farad) {
    return {.parts = "U1 = { opamp = \"part\", plus = \"in\", minus = \"out\", out = \"out\" }\n",
            .output = fmt::format("cable = {}", farad),
            .tables = fmt::format("[opamp.part]\nopen_loop_gain = 1e6\n"
                                  "gain_bandwidth = \"10 MHz\"\noutput_resistance = {}\n",
                                  ohm)};
}

TEST_CASE("with output resistance and a capacitive load, the loop has a pole at 1 / (2 pi Ro C)") {
    for (const auto& [ohm, farad] :
         {std::pair(100.0, 1e-9), std::pair(50.0, 1e-9), std::pair(100.0, 10e-9)}) {
        Network network = test::network_of(follower(ohm, farad));
        for (const double f_hz : {10.0, 100e3, 1.26e6, 3.99e6, 60e6}) {
            CAPTURE(ohm, farad, f_hz);
            const Z s = test::s_at(f_hz);
            const Z a = 1e6 / (1.0 + s * 1e6 / (2 * test::pi * 10e6)) / (1.0 + s * ohm * farad);
            CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(a / (1.0 + a), test::close));
        }
    }
}

TEST_CASE("a resistive load divides the loop gain by its divider with the output resistance") {
    test::Stage stage = follower(100, 0);
    stage.output = R"(load = "100R")";
    const double a = 1e6 / 2;
    // At 1 mHz the first pole, 10 Hz, is out of the way to 1e-8 of a gain that is 2e-6 off one.
    CHECK_THAT(test::gain_of(stage, 1e-3), test::CloseTo(a / (1 + a), 1e-9));
}

TEST_CASE("feedback divides the output resistance by 1 + A") {
    // Driven from the output end: the source through 1 kohm into a follower with a quiet input.
    const test::Stage driven{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["quiet", "gnd"] }
U1 = { opamp = "part", plus = "quiet", minus = "out", out = "out" }
)",
                             .tables = R"(
[opamp.part]
open_loop_gain = 1e6
gain_bandwidth = "10 MHz"
output_resistance = "75R"
)"};
    for (const double f_hz : {1e3, 1e5, 1e7}) {
        CAPTURE(f_hz);
        const Z a = 1e6 / (1.0 + Z(0, f_hz / 10));
        const Z ohm = 75.0 / (1.0 + a);
        CHECK_THAT(test::gain_of(driven, f_hz), test::CloseTo(ohm / (1000.0 + ohm), test::close));
    }
}

}  // namespace lowhiss::capacitive_load_test
