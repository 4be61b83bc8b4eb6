// Polarity: the sign of the real part of the gain at 1 kHz, where that is larger than the imaginary
// part.

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::polarity_test {

double polarity_of(const test::Stage& stage) {
    const Board board = test::board_of(stage);
    Setting setting(board, test::capsule_of(board), 0);
    return polarity(setting);
}

TEST_CASE("an amplifier that inverts, and one that does not", "[polarity]") {
    const std::string model = "[opamp.part]\nopen_loop_gain = 1e5\ngain_bandwidth = \"10 MHz\"\n";
    CHECK(polarity_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "n"] }
R2 = { resistor = "10k", pins = ["n", "out"] }
U1 = { opamp = "part", plus = "gnd", minus = "n", out = "out" }
)",
                       .tables = model}) == -1);
    CHECK(polarity_of({.parts = R"(
R1 = { resistor = "1k", pins = ["n", "gnd"] }
R2 = { resistor = "10k", pins = ["n", "out"] }
U1 = { opamp = "part", plus = "in", minus = "n", out = "out" }
)",
                       .tables = model}) == 1);
}

TEST_CASE("a winding the other way round inverts", "[polarity]") {
    const auto stage = [](const std::string& secondary) {
        return test::Stage{.parts = R"(
T1 = { transformer = { ratio = 10, primary_inductance = "8", coupling = 0.999 }, primary = ["in", "gnd"], secondary = [)" +
                                    secondary + R"(] }
R1 = { resistor = "68k", pins = ["out", "gnd"] }
)"};
    };
    CHECK(polarity_of(stage("\"out\", \"gnd\"")) == 1);
    CHECK(polarity_of(stage("\"gnd\", \"out\"")) == -1);
}

TEST_CASE("45 degrees off is neither: a low pass of 900 Hz, but not one of 1.1 kHz", "[polarity]") {
    const auto low_pass = [](const std::string& farad) {
        return test::Stage{.parts =
                               "R1 = { resistor = \"1k\", pins = [\"in\", \"out\"] }\n"
                               "C1 = { capacitor = \"" +
                               farad + "\", pins = [\"out\", \"gnd\"] }\n"};
    };
    CHECK(polarity_of(low_pass("145n")) == 1);  // 1.098 kHz, -42 degrees
    CHECK(polarity_of(low_pass("177n")) == 0);  // 0.899 kHz, -48 degrees
}

TEST_CASE("without a gain there is no polarity", "[polarity]") {
    CHECK(std::isnan(polarity_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "gnd"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)"})));
}

}  // namespace lowhiss::polarity_test
