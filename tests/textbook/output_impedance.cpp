// The impedance of the output, without cable and load.

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::output_impedance_test {

const std::string divider = R"(
R1 = { resistor = "3k3", pins = ["in", "out"] }
R2 = { resistor = "2k2", pins = ["out", "gnd"] }
C1 = { capacitor = "10n", pins = ["out", "gnd"] }
)";

double output_ohm(const test::Stage& stage, double f_hz) {
    const Board board = test::board_of(stage);
    Setting setting(board, test::capsule_of(board), 0);
    return output_impedance_ohm(setting, f_hz);
}

TEST_CASE("output impedance is that of the parts at the output, source and all") {
    const test::Stage stage{.parts = divider,
                            .capsule = "kind = \"resistive\"\nresistance = \"600R\"\n"};
    for (const double f_hz : {20.0, 1e3, 20e3}) {
        CAPTURE(f_hz);
        const test::Z expected =
            test::parallel(test::parallel(3900.0, 2200.0), 1.0 / (test::s_at(f_hz) * 10e-9));
        CHECK_THAT(output_ohm(stage, f_hz), WithinRel(std::abs(expected), test::close));
    }
}

TEST_CASE("the load and the cable are not part of the output impedance") {
    test::Stage stage{.parts = divider};
    const double bare = output_ohm(stage, 5e3);
    stage.output = "load = \"1k\"\ncable = \"4n7\"";
    CHECK_THAT(output_ohm(stage, 5e3), WithinRel(bare, test::close));
}

TEST_CASE("feedback divides an op-amp's output resistance by 1 + A beta") {
    const test::Stage stage{.parts = R"(
U1 = { opamp = "part", plus = "in", minus = "fb", out = "out" }
R1 = { resistor = "9k", pins = ["fb", "out"] }
R2 = { resistor = "1k", pins = ["fb", "gnd"] }
)",
                            .tables = R"(
[opamp.part]
open_loop_gain = 1e5
gain_bandwidth = "10 MHz"
output_resistance = "60R"
)"};
    for (const double f_hz : {20.0, 1e3, 200e3}) {
        CAPTURE(f_hz);
        const test::Z a = 1e5 / (1.0 + test::Z(0, f_hz / 100));
        // 60 ohm, driven by -A beta v, beside the feedback divider of 10 kohm.
        const test::Z siemens = (1.0 + a / 10.0) / 60.0 + 1e-4;
        CHECK_THAT(output_ohm(stage, f_hz), WithinRel(1 / std::abs(siemens), test::close));
    }
}

}  // namespace lowhiss::output_impedance_test
