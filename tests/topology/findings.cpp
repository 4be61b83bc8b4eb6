// Every finding of the topology stage, word for word. The parts' lines begin at line 8.

#include "lowhiss/topology/check.hpp"

#include <set>

#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::findings_test {

/// A divider from `in` to `out`, which is well, and behind it the parts of a test.
Board divider_with(const std::string& parts) {
    return test::board_from_text(R"([opamp.ideal]
open_loop_gain = "100 dB"
gain_bandwidth = "10 MHz"
source = "test"
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)" + parts + R"(
[input]
plus = "in"
[output]
plus = "out"
)");
}

Diagnostics findings(const Board& board, double rotation = 0) {
    return check_topology(board, build_circuit(board, rotation, test::capsule_of(board)));
}

/// Severity, line, subject, what was found and the code, a line each.
std::string summary(const Diagnostics& diagnostics) {
    std::string text;
    for (const Diagnostic& d : diagnostics) {
        text += (d.severity == Severity::error ? "error " : "warning ") +
                std::to_string(d.at.line) + " " + d.subject + ": " + d.found + " [" + d.code +
                "]\n";
    }
    return text;
}

constexpr std::string_view split_advice =
    "if U1 is to split the supply, make the negative end of the supply [board] ground, and name a "
    "node of its own, that of its output, as [input] minus and [output] minus";

std::string summary_of(const std::string& parts) {
    return summary(findings(divider_with(parts)));
}

std::string advice_of(const std::string& parts) {
    const Diagnostics found = findings(divider_with(parts));
    return found.empty() ? "(none)" : found.front().advice;
}

bool starts_with(const std::string& text, const std::string& start) {
    return text.compare(0, start.size(), start) == 0;
}

TEST_CASE("a board with nothing wrong has no findings") {
    CHECK(summary_of("") == "");
}

TEST_CASE("a finding is printed with its line, what is accepted and what to do") {
    const Diagnostics found = findings(divider_with(R"(C1 = { capacitor = "1n", pins = ["a", "b"] }
R3 = { resistor = "1k", pins = ["b", "a"] })"));
    REQUIRE(found.size() == 1);
    CHECK(
        to_text(found[0]) ==
        R"(board.toml:8:1: error: C1: there is no path from 'a' and 'b' to ground; also connected: R3 (board.toml:9) [no-path-to-ground]
    8 | C1 = { capacitor = "1n", pins = ["a", "b"] }
      | ^
      = accepted: a path through parts from every node to 'gnd'; inputs and control pins do not count
      = advice: connect one of its nodes to 'gnd', through 1 MΩ if it is meant to float
)");
}

TEST_CASE("groups of nodes without a path to ground") {
    SECTION("a floating winding") {
        CHECK(
            summary_of(
                R"(T1 = { transformer = { ratio = 10, primary_inductance = "8" }, primary = ["in", "gnd"], secondary = ["c", "d"] }
U1 = { opamp = "ideal", plus = "c", minus = "o", out = "o" })") ==
            "error 8 T1: there is no path from 'c' and 'd' to ground; also connected: U1 "
            "(board.toml:9) [no-path-to-ground]\n");
    }
    SECTION("but not a winding that floats with its load") {
        CHECK(
            summary_of(
                R"(T1 = { transformer = { ratio = 10, primary_inductance = "8" }, primary = ["in", "gnd"], secondary = ["c", "d"] }
R3 = { resistor = "1k", pins = ["c", "d"] })") == "");
    }
    SECTION("an input is no path, its output is") {
        const std::string parts =
            R"(U1 = { opamp = "ideal", plus = "inn", minus = "o", out = "o" })";
        CHECK(summary_of(parts) ==
              "error 8 U1: there is no path from 'inn' to ground [no-path-to-ground]\n");
        CHECK(advice_of(parts) == "did you mean 'in'?");
    }
    SECTION("nor are control pins") {
        CHECK(summary_of(R"(R3 = { resistor = "1k", pins = ["a", "b"] }
E1 = { voltage_gain = 2, control = ["a", "b"], pins = ["c", "gnd"] }
R4 = { resistor = "1k", pins = ["c", "out"] })") ==
              "error 8 R3: there is no path from 'a' and 'b' to ground; also connected: E1 "
              "(board.toml:9) [no-path-to-ground]\n");
    }
    SECTION("a commanded voltage joins its two ends, but not to ground") {
        CHECK(summary_of(R"(E1 = { voltage_gain = 2, control = ["in", "gnd"], pins = ["a", "b"] }
R3 = { resistor = "1k", pins = ["a", "b"] })") ==
              "error 8 E1: there is no path from 'a' and 'b' to ground; also connected: R3 "
              "(board.toml:9) [no-path-to-ground]\n");
    }
    SECTION("a long list is cut") {
        std::string parts;
        for (int k = 0; k < 12; ++k) {
            const std::string a = std::to_string(k);
            const std::string b = std::to_string((k + 1) % 12);
            parts +=
                "C" + a + " = { capacitor = \"1n\", pins = [\"n" + a + "\", \"n" + b + "\"] }\n";
        }
        CHECK(starts_with(summary_of(parts),
                          "error 8 C0: there is no path from 'n0', 'n1', 'n2', 'n3', 'n4', 'n5', "
                          "'n6', 'n7' and 4 more to ground; also connected: C1 (board.toml:9), "));
    }
    SECTION("the same fault many times is told twenty times") {
        std::string parts;
        for (int k = 0; k < 25; ++k) {
            const std::string n = std::to_string(k);
            parts +=
                "R1" + n + " = { resistor = \"1k\", pins = [\"a" + n + "\", \"b" + n + "\"] }\n";
        }
        const Diagnostics found = findings(divider_with(parts));
        REQUIRE(found.size() == 20);
        CHECK(found.back().found ==
              "there is no path from 'a19' and 'b19' to ground; 5 more of the same kind");
    }
}

TEST_CASE("nodes that only current sources feed") {
    CHECK(summary_of(R"(I1 = { current_source = "1m", from = "x", into = "gnd" }
I2 = { current_source = "1m", from = "out", into = "x" })") ==
          "error 8 I1: only current sources, this one and I2 (board.toml:9), connect 'x' to the "
          "rest of the circuit: the voltage there is undetermined [only-current-sources]\n");
    CHECK(
        summary_of(
            R"(G1 = { transconductance = "1m", control = ["in", "gnd"], pins = ["x", "gnd"] })") ==
        "error 8 G1: only this current source connects 'x' to the rest of the circuit: the voltage "
        "there is undetermined [only-current-sources]\n");
    CHECK(summary_of(R"(F1 = { current_gain = 3, control = ["in", "a"], pins = ["gnd", "x"] }
R3 = { resistor = "1k", pins = ["a", "gnd"] })") ==
          "error 8 F1: only this current source connects 'x' to the rest of the circuit: the "
          "voltage there is undetermined [only-current-sources]\n");
    SECTION("but a transconductance that its own node commands is a resistor") {
        CHECK(
            summary_of(
                R"(G1 = { transconductance = "1m", control = ["x", "gnd"], pins = ["x", "gnd"] })") ==
            "");
    }
}

TEST_CASE("loops of shorts, voltage sources and ideal outputs") {
    SECTION("in the order of the loop, whatever that of the file") {
        const std::string parts = R"(V1 = { voltage_source = "9", pins = ["out", "gnd"] }
R9 = { resistor = 0, pins = ["z", "gnd"] }
SB1 = { link = "closed", pins = ["out", "y"] }
V2 = { voltage_source = "9", pins = ["y", "z"] })";
        CHECK(summary_of(parts) ==
              "error 8 V1: it closes a loop without impedance, with R9 (board.toml:9), V2 "
              "(board.toml:11) and SB1 (board.toml:10), through 'out', 'gnd', 'z' and 'y': the "
              "current in the loop is undetermined [loop-of-shorts]\n");
        CHECK(advice_of(parts) == "open the link SB1");
    }
    SECTION("two outputs tied together") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "o1", out = "o1" }
U2 = { opamp = "ideal", plus = "in", minus = "o2", out = "o2" }
SB1 = { link = "closed", pins = ["o1", "o2"] })") ==
              "error 8 U1: it closes a loop without impedance, with U2 (board.toml:9) and SB1 "
              "(board.toml:10), through 'o1', 'gnd' and 'o2': the current in the loop is "
              "undetermined [loop-of-shorts]\n");
    }
    SECTION("an output on ground, a source on itself") {
        const std::string output =
            R"(U1 = { opamp = "ideal", plus = "in", minus = "in", out = "gnd" })";
        CHECK(starts_with(summary_of(output),
                          "error 8 U1: it closes a loop without impedance, through 'gnd': the "
                          "current in the loop is undetermined [loop-of-shorts]\n"));
        CHECK(advice_of(output) == split_advice);
        const std::string source = R"(V1 = { voltage_source = "9", pins = ["out", "out"] })";
        CHECK(summary_of(source) ==
              "error 8 V1: it closes a loop without impedance, through 'out': the current in the "
              "loop is undetermined [loop-of-shorts]\n");
        CHECK(advice_of(source) == "connect its ends to two different nodes");
    }
    SECTION("a gain pin on its own input, of a preamp IC without a bandwidth") {
        const std::string parts = R"([preamp_ic.ideal]
gain_resistance = "10k"
gain_offset = 1
source = "test"
[parts.U1]
preamp_ic = "ideal"
plus = "in"
minus = "gnd"
out = "o"
gain_pins = ["in", "g"]
[parts.R3]
resistor = "1k"
pins = ["g", "o"])";
        CHECK(summary_of(parts) ==
              "error 12 U1: it closes a loop without impedance, through 'in': the current in the "
              "loop is undetermined [loop-of-shorts]\n");
        CHECK(advice_of(parts) == "give the model of U1 a figure for bandwidth");
    }
    SECTION("an ideal source at the input") {
        CHECK(summary_of(R"(SB1 = { link = "closed", pins = ["in", "gnd"] })") ==
              "error 8 SB1: it closes a loop without impedance, with capsule (board.toml:10), "
              "through 'in' and 'gnd': the current in the loop is undetermined [loop-of-shorts]\n");
    }
    SECTION("a potentiometer at its end, there only") {
        const Board board =
            divider_with(R"(RV1 = { potentiometer = "10k", pins = ["a", "w", "gnd"] }
SB1 = { link = "closed", pins = ["a", "w"] }
R3 = { resistor = "1k", pins = ["a", "out"] }
[knob]
part = "RV1")");
        CHECK(summary(findings(board, 0)) ==
              "error 8 RV1: it closes a loop without impedance, with SB1 (board.toml:9), through "
              "'a' and 'w': the current in the loop is undetermined [loop-of-shorts]\n");
        CHECK(summary(findings(board, 0.1)) == "");
    }
    SECTION("a sensed short in a loop with a short fixes one voltage twice") {
        CHECK(summary_of(R"(F1 = { current_gain = 3, control = ["out", "a"], pins = ["in", "gnd"] }
SB1 = { link = "closed", pins = ["out", "a"] })") ==
              "error 8 F1: it closes a loop without impedance, with SB1 (board.toml:9), through "
              "'out' and 'a': the current in the loop is undetermined [loop-of-shorts]\n");
    }
    SECTION("but a transresistance sensing its own loop is a resistance") {
        CHECK(
            summary_of(
                R"(H1 = { transresistance = "1k", control = ["out", "a"], pins = ["a", "gnd"] })") ==
            "");
    }
    SECTION("both windings of a lossless transformer") {
        CHECK(
            summary_of(
                R"(T1 = { transformer = { ratio = 10, primary_inductance = "8" }, primary = ["out", "gnd"], secondary = ["c", "gnd"] }
SB1 = { link = "closed", pins = ["out", "gnd"] }
SB2 = { link = "closed", pins = ["c", "gnd"] })") ==
            "error 8 T1: both windings are shorted, and nothing in the transformer limits their "
            "currents [loop-of-shorts]\n");
    }
}

TEST_CASE("equations that no values make independent") {
    SECTION("a current that is commanded, and must be none") {
        CHECK(summary_of(
                  R"(G1 = { transconductance = "1m", control = ["in", "gnd"], pins = ["x", "gnd"] }
E1 = { voltage_gain = 2, control = ["x", "gnd"], pins = ["y", "gnd"] }
R3 = { resistor = "1k", pins = ["y", "gnd"] })") ==
              "error 8 G1: 2 equations contain no unknown but the voltage of node 'in': they "
              "cannot be independent; also involved: E1 (board.toml:9) and capsule (board.toml:12) "
              "[no-unique-solution]\n");
    }
    SECTION("a voltage that is read, and that nothing answers") {
        CHECK(summary_of(
                  R"(E1 = { voltage_gain = 2, control = ["x", "gnd"], pins = ["y", "gnd"] }
R3 = { resistor = "1k", pins = ["y", "gnd"] }
G1 = { transconductance = "1m", control = ["far", "gnd"], pins = ["x", "gnd"] }
R4 = { resistor = "1k", pins = ["out", "far"] }
R5 = { resistor = "1k", pins = ["far", "gnd"] })") ==
              "error 8 E1: only 2 equations contain the voltage of node 'x', the voltage of node "
              "'y' and the output current of E1: they do not determine all of these; also "
              "involved: R3 (board.toml:9) and G1 (board.toml:10) [no-unique-solution]\n");
    }
}

TEST_CASE("nodes without a way for direct current") {
    SECTION("an input behind a capacitor, whatever leaks") {
        CHECK(summary_of(R"(C1 = { capacitor = "1u", pins = ["in", "p"], leakage_resistance = "1M" }
U1 = { opamp = "ideal", plus = "p", minus = "o", out = "o" })") ==
              "warning 9 U1: the bias current of U1.plus has no path from 'p' to ground; also "
              "connected: C1 (board.toml:8) [no-direct-path]\n");
    }
    SECTION("a node between capacitors") {
        CHECK(summary_of(R"(C1 = { capacitor = "1u", pins = ["in", "p"] }
C2 = { capacitor = "1u", pins = ["p", "gnd"] })") ==
              "warning 8 C1: there is no path for direct current from 'p' to ground: the voltage "
              "there drifts; also connected: C2 (board.toml:9) [no-direct-path]\n");
    }
}

TEST_CASE("a node that one pin alone is on") {
    SECTION("is likely a slip") {
        const std::string parts = R"(R3 = { resistor = "1k", pins = ["out", "inn"] })";
        CHECK(summary_of(parts) == "warning 8 R3: no other pin is on the node 'inn' [lone-pin]\n");
        CHECK(advice_of(parts) == "did you mean 'in'?");
    }
    SECTION("unless an open link or an unfitted part is there too, or alone") {
        CHECK(summary_of(R"(R3 = { resistor = "1k", pins = ["out", "bridge"] }
SB1 = { link = "open", pins = ["bridge", "nowhere"] }
R4 = { resistor = "1k", pins = ["out", "spare"] }
R5 = { resistor = "1k", pins = ["spare", "elsewhere"], fitted = false })") == "");
    }
    SECTION("or the gain pins of a preamp IC are both left open") {
        const std::string ic = R"([preamp_ic.ideal]
gain_resistance = "10k"
gain_offset = 1
bandwidth = [[1, "4 MHz"], [100, "1 MHz"]]
source = "test"
[parts.U1]
preamp_ic = "ideal"
plus = "in"
minus = "gnd"
out = "o"
)";
        const std::string load = "[parts.R3]\nresistor = \"1k\"\npins = [\"o\", \"gnd\"]\n";
        CHECK(summary_of(ic + "gain_pins = [\"g1\", \"g2\"]\n" + load) == "");
        CHECK(summary_of(ic + "gain_pins = [\"g1\", \"gnd\"]\n" + load) ==
              "warning 13 U1.gain_pins.1: no other pin is on the node 'g1' [lone-pin]\n");
    }
}

TEST_CASE("parts with their ends on one node") {
    CHECK(summary_of(R"(R3 = { resistor = "1k", pins = ["out", "out"] })") ==
          "warning 8 R3: both ends are on the node 'out' [shorted-part]\n");
    CHECK(summary_of(R"(RV1 = { potentiometer = "1k", pins = ["out", "gnd", "out"] })") ==
          "warning 8 RV1: both ends of the track are on the node 'out' [shorted-part]\n");
    CHECK(
        summary_of(
            R"(T1 = { transformer = { ratio = 10, primary_inductance = "8", primary_resistance = "40R" }, primary = ["in", "gnd"], secondary = ["gnd", "gnd"] })") ==
        "warning 8 T1: both ends of the secondary are on the node 'gnd' [shorted-part]\n");
    SECTION("rheostats and open links are well") {
        CHECK(summary_of(R"(RV1 = { potentiometer = "1k", pins = ["out", "out", "gnd"] }
SB1 = { link = "open", pins = ["out", "out"] })") == "");
    }
}

TEST_CASE("op-amps without feedback") {
    const std::string missing =
        "warning 8 U1: there is no feedback from the output 'o' to the minus input 'm' "
        "[no-feedback]\n";
    SECTION("to the plus input only, for alternating current") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R3 = { resistor = "1k", pins = ["m", "gnd"] }
R4 = { resistor = "1k", pins = ["o", "x"] }
C4 = { capacitor = "1n", pins = ["x", "in"] })") == missing);
    }
    SECTION("over a supply") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R3 = { resistor = "1k", pins = ["m", "vcc"] }
R4 = { resistor = "1k", pins = ["o", "vcc"] }
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] })") == missing);
    }
    SECTION("against another output") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R3 = { resistor = "1k", pins = ["o", "m"] }
U2 = { opamp = "ideal", plus = "in", minus = "m", out = "m" })") == missing);
    }
    SECTION("through an open link") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R3 = { resistor = "1k", pins = ["m", "gnd"] }
SB1 = { link = "open", pins = ["m", "o"] })") == missing);
    }
    SECTION("not where another amplifier closes the loop") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "in", minus = "m", out = "o" }
R3 = { resistor = "1k", pins = ["o", "m2"] }
R4 = { resistor = "1k", pins = ["m2", "m"] }
U2 = { opamp = "ideal", plus = "gnd", minus = "m2", out = "m" })") == "");
    }
}

TEST_CASE("op-amps with their inputs exchanged") {
    const std::string exchanged =
        "positive feedback at direct current, which nothing limits [inputs-exchanged]\n";
    SECTION("a non-inverting stage") {
        const std::string parts = R"(U1 = { opamp = "ideal", plus = "fb", minus = "in", out = "o" }
R3 = { resistor = "9k", pins = ["o", "fb"] }
R4 = { resistor = "1k", pins = ["fb", "gnd"] })";
        CHECK(
            summary_of(parts) ==
            "warning 8 U1: the output 'o' is fed back to the plus input 'fb' and not to the minus "
            "input 'in': " +
                exchanged);
        CHECK(advice_of(parts) == "did you exchange plus and minus?");
    }
    SECTION("an inverting stage, and a follower") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "sum", minus = "gnd", out = "o" }
R3 = { resistor = "1k", pins = ["in", "sum"] }
R4 = { resistor = "10k", pins = ["sum", "o"] }
U2 = { opamp = "ideal", plus = "o2", minus = "o", out = "o2" })") ==
              "warning 8 U1: the output 'o' is fed back to the plus input 'sum' and not to the "
              "minus input 'gnd': " +
                  exchanged +
                  "warning 11 U2: the output 'o2' is fed back to the plus input 'o2' and not to "
                  "the minus input 'o': " +
                  exchanged);
    }
    SECTION("not where an inverting stage in the loop makes it negative") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "p", minus = "in", out = "o" }
R3 = { resistor = "1k", pins = ["o", "m2"] }
R4 = { resistor = "1k", pins = ["m2", "p"] }
U2 = { opamp = "ideal", plus = "gnd", minus = "m2", out = "p" })") == "");
    }
    SECTION("nor where there is negative feedback besides") {
        CHECK(summary_of(R"(U1 = { opamp = "ideal", plus = "p", minus = "m", out = "o" }
R3 = { resistor = "1k", pins = ["o", "p"] }
R4 = { resistor = "1k", pins = ["p", "in"] }
R5 = { resistor = "1k", pins = ["o", "m"] }
R6 = { resistor = "1k", pins = ["m", "gnd"] })") == "");
    }
}

TEST_CASE("an op-amp that is drawn to split the supply around ground") {
    const std::string parts = R"(BT1 = { voltage_source = "9 V", pins = ["vcc", "vee"] }
R3 = { resistor = "100k", pins = ["vcc", "mid"] }
R4 = { resistor = "100k", pins = ["mid", "vee"] }
U1 = { opamp = "ideal", plus = "mid", minus = "gnd", out = "gnd", supply = ["vcc", "vee"] })";
    const Diagnostics found = findings(divider_with(parts));
    std::set<std::string> codes;
    for (const Diagnostic& d : found) {
        INFO(to_text(d));
        codes.insert(d.code);
        CHECK(d.advice == split_advice);
    }
    CHECK(codes ==
          std::set<std::string>{"no-path-to-ground", "loop-of-shorts", "output-on-ground"});
}

TEST_CASE("findings stand in the board's order, errors first, and are the same each time") {
    const Board board = divider_with(R"(R3 = { resistor = "1k", pins = ["out", "lone"] }
R4 = { resistor = "1k", pins = ["e", "f"] }
R5 = { resistor = "1k", pins = ["in", "in"] }
R6 = { resistor = "1k", pins = ["c", "d"] })");
    const std::string first = summary(findings(board));
    CHECK(first ==
          "error 9 R4: there is no path from 'e' and 'f' to ground [no-path-to-ground]\n"
          "error 11 R6: there is no path from 'c' and 'd' to ground [no-path-to-ground]\n"
          "warning 8 R3: no other pin is on the node 'lone' [lone-pin]\n"
          "warning 10 R5: both ends are on the node 'in' [shorted-part]\n");
    CHECK(summary(findings(board)) == first);
}

}  // namespace lowhiss::findings_test
