// A verdict names the part that sets the figure, active ones too, and passes no figure that is not
// modelled.

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/promise/check.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::culprits_test {

/// A gain of 40 dB by a slow op-amp between 5 V rails.
const std::string op_amp_stage = R"(
[parts]
V1 = { voltage_source = "5", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "5", pins = ["gnd", "vee"] }
R1 = { resistor = "100k", pins = ["in", "gnd"] }
C1 = { capacitor = "1n", pins = ["in", "gnd"], voltage_coefficient = "0.1 %/V" }
R2 = { resistor = "9.9k", pins = ["out", "n"] }
R3 = { resistor = "100R", pins = ["n", "gnd"] }
U1 = { opamp = "slow", plus = "in", minus = "n", out = "out", supply = ["vcc", "vee"] }
[opamp.slow]
open_loop_gain = "120 dB"
gain_bandwidth = "1 MHz"
slew_rate = "10 V/us"
swing_from_positive_rail = "1.5"
swing_from_negative_rail = "1.5"
supply_min = "4"
supply_max = "36"
[input]
plus = "in"
[output]
plus = "out"
)";

const std::string ic_stage = R"(
[parts]
V1 = { voltage_source = "15", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "15", pins = ["gnd", "vee"] }
R1 = { resistor = "1k", pins = ["in", "gnd"] }
C1 = { capacitor = "1n", pins = ["in", "gnd"], voltage_coefficient = "0.1 %/V" }
R2 = { resistor = "100R", pins = ["g1", "g2"] }
U1 = { preamp_ic = "ic", plus = "in", minus = "gnd", gain_pins = ["g1", "g2"], out = "out", supply = ["vcc", "vee"] }
[preamp_ic.ic]
gain_resistance = "10k"
gain_offset = 1
swing_from_positive_rail = "1.5"
swing_from_negative_rail = "1.5"
[input]
plus = "in"
[output]
plus = "out"
)";

Verdict verdict_of(const std::string& board_text, const std::string& limit) {
    const Board board = test::board_from_text(board_text + "[[limit]]\nname = \"it\"\n" + limit);
    const BoardCheck check = check_board({&board, board.limits});
    REQUIRE(!check.verdicts.empty());
    return check.verdicts[0];
}

TEST_CASE("a level is limited by the amplifier that clips, not by the resistors about it",
          "[limits]") {
    const Verdict v = verdict_of(op_amp_stage, "measure = \"max_input\"\nmin = \"20 dBu\"\n");
    CHECK(v.outcome == Outcome::fail);
    REQUIRE_FALSE(v.look_at.empty());
    CHECK(v.look_at[0] == "U1");
}

TEST_CASE("a bandwidth is limited by the op-amp whose loop gain ends there", "[limits]") {
    const Verdict v = verdict_of(op_amp_stage, "measure = \"high_corner\"\nmin = \"100 kHz\"\n");
    CHECK(v.outcome == Outcome::fail);
    CHECK(std::ranges::find(v.look_at, "U1") != v.look_at.end());
}

TEST_CASE("the distortion of a preamp IC is not known below its clipping", "[limits]") {
    const std::string limit = "measure = \"distortion\"\nat = \"1 kHz\"\nmax = \"1 %\"\nlevel = ";
    const Verdict quiet = verdict_of(ic_stage, limit + "\"-60 dBu\"\n");
    CHECK(quiet.outcome == Outcome::not_known);
    CHECK(quiet.reason == "not known: the distortion of a preamp IC is not modelled: U1");
    const Verdict loud = verdict_of(ic_stage, limit + "\"30 dBu\"\n");
    CHECK(loud.outcome == Outcome::fail);
    REQUIRE_FALSE(loud.look_at.empty());
    CHECK(loud.look_at[0] == "U1");
    CHECK(verdict_of(op_amp_stage, limit + "\"-60 dBu\"\n").outcome == Outcome::pass);
}

TEST_CASE("stability is checked with the capsules that limits name too", "[limits][stability]") {
    // Half of the output goes back to the inverting input, and R / (R + 1 kohm) of it to the other
    // one, R being the capsule: it latches up above 1 kohm.
    const std::string text = R"(
[capsule.low]
kind = "resistive"
resistance = "200R"
[capsule.high]
kind = "resistive"
resistance = "1M"
[parts]
U1 = { opamp = "fast", plus = "in", minus = "n", out = "out" }
R1 = { resistor = "1k", pins = ["out", "n"] }
R2 = { resistor = "1k", pins = ["n", "gnd"] }
R3 = { resistor = "1k", pins = ["out", "in"] }
[opamp.fast]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
[input]
plus = "in"
capsule = "low"
[output]
plus = "out"
[[limit]]
name = "own"
measure = "gain"
at = "1 kHz"
min = "-100 dB"
)";
    const auto outcomes = [](const std::string& board_text) {
        const Board board = test::board_from_text(board_text);
        CheckRequest request{&board, board.limits};
        request.stability = true;
        std::vector<std::string> unstable_with;
        for (const Verdict& v : check_board(request).verdicts) {
            if (!v.of_limit && v.outcome == Outcome::fail) unstable_with.push_back(v.capsule);
        }
        return unstable_with;
    };
    CHECK(outcomes(text).empty());
    CHECK(outcomes(text + "[[limit]]\nname = \"other\"\nmeasure = \"gain\"\nat = \"1 kHz\"\n"
                          "min = \"-100 dB\"\ncapsule = \"high\"\n") ==
          std::vector<std::string>{"high"});
}

TEST_CASE("a circuit too large to search for instability does not pass unless it is passive",
          "[limits][stability]") {
    std::string text = "[parts]\n";
    std::string before = "in";
    for (int k = 1; k <= 600; ++k) {
        const std::string node = fmt::format("n{}", k);
        text += fmt::format("R{} = {{ resistor = \"10R\", pins = [\"{}\", \"{}\"] }}\n", k, before,
                            node);
        text += fmt::format("C{} = {{ capacitor = \"1p\", pins = [\"{}\", \"gnd\"] }}\n", k, node);
        before = node;
    }
    const auto verdicts = [](const std::string& board_text) {
        const Board board = test::board_from_text(board_text);
        CheckRequest request{&board, {}};
        request.stability = true;
        return check_board(request).verdicts;
    };
    CHECK(verdicts(text + "[input]\nplus = \"in\"\n[output]\nplus = \"n600\"\n").empty());
    const auto active = verdicts(
        text + "U1 = { opamp = \"fast\", plus = \"n600\", minus = \"out\", out = \"out\" }\n" +
        "[opamp.fast]\nopen_loop_gain = \"120 dB\"\ngain_bandwidth = \"10 MHz\"\n" +
        "[input]\nplus = \"in\"\n[output]\nplus = \"out\"\n");
    REQUIRE(active.size() == 1);
    CHECK(active[0].outcome == Outcome::not_computed);
    CHECK(active[0].reason == "not known: the circuit has too many unknowns");
}

}  // namespace lowhiss::culprits_test
