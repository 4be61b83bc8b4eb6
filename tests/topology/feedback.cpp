#include "lowhiss/topology/feedback.hpp"

#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::feedback_test {

std::string loops_of(const std::string& parts) {
    const Board board = test::board_from_text(R"([opamp.ideal]
open_loop_gain = "100 dB"
gain_bandwidth = "10 MHz"
source = "test"
[preamp_ic.ideal]
gain_resistance = "10k"
gain_offset = 1
source = "test"
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
)" + parts + R"(
[input]
plus = "in"
[output]
plus = "o"
)");
    std::string text;
    for (const FeedbackLoop& loop : feedback_loops(board)) {
        text += loop.amplifier + "." + loop.input + " " + std::string(text_of(loop.sense)) + ":";
        for (const std::string& part : loop.parts) text += " " + part;
        text += " through";
        for (const std::string& node : loop.nodes) text += " " + node;
        text += "\n";
    }
    return text;
}

TEST_CASE("the loop of fewest parts, of equal ones the first of the board") {
    CHECK(loops_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
C1 = { capacitor = "1n", pins = ["o", "mid"] }
R2 = { resistor = "1k", pins = ["mid", "m"] }
R3 = { resistor = "1k", pins = ["o", "m"] }
R4 = { resistor = "1k", pins = ["m", "o"] })") == "U1.minus negative: R3 through o m\n");
}

TEST_CASE("a follower's loop has no parts") {
    CHECK(loops_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "o", out = "o" })") ==
          "U1.minus negative: through o\n");
}

TEST_CASE("feedback to the plus input is positive") {
    CHECK(loops_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R2 = { resistor = "1k", pins = ["o", "m"] }
C1 = { capacitor = "1n", pins = ["o", "x"] }
R3 = { resistor = "1k", pins = ["x", "in"] })") ==
          "U1.plus positive: C1 R3 through o x in\nU1.minus negative: R2 through o m\n");
}

TEST_CASE("an inverting stage in the loop turns its sense") {
    CHECK(loops_of(R"(U1 = { opamp = "ideal", plus = "p", minus = "in", out = "o" }
R2 = { resistor = "1k", pins = ["o", "m2"] }
C1 = { capacitor = "1n", pins = ["m2", "p"] }
U2 = { opamp = "ideal", plus = "gnd", minus = "m2", out = "p" })") ==
          "U1.plus negative: R2 U2 through o m2 p\nU2.minus negative: C1 through p m2\n");
}

TEST_CASE("no loop leads over ground, a supply, what is tied to them, or another output") {
    CHECK(loops_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R2 = { resistor = "1k", pins = ["o", "vcc"] }
R3 = { resistor = "1k", pins = ["vcc", "m"] }
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
R4 = { resistor = "1k", pins = ["o", "star"] }
R5 = { resistor = "1k", pins = ["star", "in"] }
SB1 = { link = "closed", pins = ["star", "gnd"] })") == "");
}

TEST_CASE("a preamp IC's gain pins and reference are inputs too") {
    CHECK(
        loops_of(
            R"(U1 = { preamp_ic = "ideal", plus = "in", minus = "n", gain_pins = ["g1", "g2"], out = "o", reference = "r" }
R2 = { resistor = "1k", pins = ["n", "gnd"] }
R3 = { resistor = "1k", pins = ["g1", "g2"] }
R4 = { resistor = "1k", pins = ["o", "m"] }
C1 = { capacitor = "1u", pins = ["m", "r"] }
U2 = { opamp = "ideal", plus = "gnd", minus = "m", out = "r" }
R5 = { resistor = "1k", pins = ["o", "g1"] })") ==
        "U1.gain_pins.1 negative: R5 through o g1\n"
        "U1.gain_pins.2 positive: R5 R3 through o g1 g2\n"
        "U1.reference negative: R4 U2 through o m r\n"
        "U2.minus negative: C1 through r m\n");
}

TEST_CASE("the sense is not told where a transformer is in the way") {
    CHECK(loops_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
T1 = { transformer = { ratio = 1, primary_inductance = "1" }, primary = ["o", "gnd"], secondary = ["m", "gnd"] })") ==
          "U1.minus : T1 through o m\n");
}

}  // namespace lowhiss::feedback_test
