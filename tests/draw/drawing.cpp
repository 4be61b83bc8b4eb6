#include "draw/drawing.hpp"

#include "lowhiss/board/labels.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::drawing_test {

using cli::graph_text;

Board board_with(const std::string& parts, const std::string& capsule = "") {
    return test::board_from_text(R"([opamp.ideal]
open_loop_gain = "100 dB"
gain_bandwidth = "10 MHz"
source = "test"
[capsule.coil]
kind = "resistive"
resistance = "200R"
source = "test"
[parts]
R1 = { resistor = "2k2", pins = ["in", "out"], tolerance = "1 %" }
)" + parts + R"(
[input]
plus = "in"
)" + capsule + R"(
[output]
plus = "out"
load = "10k"
cable = "300p"
)");
}

std::size_t count(const std::string& text, const std::string& part) {
    std::size_t found = 0;
    for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++found;
    return found;
}

/// The text before the edges' attributes on all lines that hold an edge.
std::string edges_of(const std::string& text) {
    std::string edges;
    std::size_t start = 0;
    while (start < text.size()) {
        const std::size_t end = text.find('\n', start);
        const std::string line = text.substr(start, end - start);
        if (count(line, " -- ") > 0) edges += line.substr(2, line.find_first_of("[;") - 2) + "|";
        start = end + 1;
    }
    return edges;
}

TEST_CASE("a drawing goes from the input to the output, whatever the order of the pins") {
    const std::string text =
        graph_text(board_with("R2 = { resistor = \"1k\", pins = [\"gnd\", \"out\"] }"), "Divider");
    CHECK(edges_of(text) ==
          "input -- n1 |input -- g0 |n1 -- p0|p0 -- n2|p1 -- g1|n2 -- p1|n2 -- output |output -- "
          "g2 |");
    CHECK(count(text, "label=\"Divider\"") == 1);
    CHECK(count(text, "label=\"R1\\n2.2 kΩ\"") == 1);
    CHECK(count(text, "label=\"input\\nideal\"") == 1);
    CHECK(count(text, "label=\"output\\n10 kΩ\\n300 pF\"") == 1);
    CHECK(count(text, "shape=invtriangle") == 3);
}

TEST_CASE("feedback stands around its amplifier") {
    const std::string text =
        graph_text(board_with(R"(U1 = { opamp = "ideal", plus = "out", minus = "m", out = "o" }
R2 = { resistor = "1k", pins = ["o", "m"] })",
                              "capsule = \"coil\""),
                   "");
    CHECK(count(edges_of(text), "n2 -- p1:0:w|n3 -- p1:1:w|p1:2:e -- n4|p2 -- n4|n3 -- p2|") == 1);
    CHECK(count(text, "input\\ncoil") == 1);
}

TEST_CASE("open links are dashed, unfitted parts left out, the knob is marked") {
    const std::string text = graph_text(board_with(R"(SB1 = { link = "open", pins = ["in", "far"] }
R2 = { resistor = "1k", pins = ["in", "out"], fitted = false }
RV1 = { potentiometer = "10k", pins = ["in", "in", "out"] }
RV2 = { potentiometer = "10k", pins = ["in", "w", "out"] }
[knob]
part = "RV1")"),
                                        "");
    CHECK(count(text, "SB1\\nopen") == 1);
    CHECK(count(text, "style=dashed") == 2);
    CHECK(count(text, "R2") == 0);
    CHECK(count(text, "RV1\\n10 kΩ\\nknob") == 1);
    CHECK(count(text, "RV2<BR/>10 kΩ<") == 1);
    CHECK(count(text, ">wiper<") == 1);
}

TEST_CASE("no name breaks out of its quotes") {
    const std::string text =
        graph_text(board_with(R"("R\"2<b>&\\" = { resistor = "1k", pins = ["in", "a\"]; b [x=\""] }
"U<1>" = { opamp = "ideal", plus = "in", minus = "o", out = "o" })"),
                   "\"; rm [\n");
    CHECK(count(text, "label=\"R&quot;2&lt;b&gt;&amp;\\\\\\n1 kΩ\"") == 1);
    CHECK(count(text, "label=\"a&quot;]; b [x=&quot;\"") == 1);
    CHECK(count(text, "U&lt;1&gt;<BR/>ideal") == 1);
    CHECK(count(text, "graph \"&quot;; rm [?\" {") == 1);
}

TEST_CASE("the same board gives the same drawing") {
    const Board board = board_with("");
    CHECK(graph_text(board, "x") == graph_text(board, "x"));
}

TEST_CASE("labels of values and pins") {
    const Board board = board_with(
        R"(T1 = { transformer = { ratio = 10, primary_inductance = "8" }, primary = ["in", "gnd"], secondary = ["c", "gnd"] }
E1 = { voltage_gain = 2, control = ["in", "gnd"], pins = ["d", "gnd"] }
V1 = { voltage_source = "9 V", pins = ["e", "gnd"] }
SB1 = { link = "open", pins = ["d", "e"] })");
    const auto labels = [&](const char* name) {
        const Part& part = *find_part(board, name);
        std::string text = value_text(part) + "," + tolerance_text(part);
        for (std::size_t k = 0; k < part.pins.size(); ++k) text += "," + pin_label(part, k);
        return text;
    };
    CHECK(labels("R1") == "2.2 kΩ,1 %,R1,R1");
    CHECK(labels("T1") == "1:10,,T1.primary.1,T1.primary.2,T1.secondary.1,T1.secondary.2");
    CHECK(labels("E1") == "2,,E1.control.1,E1.control.2,E1.p,E1.n");
    CHECK(labels("V1") == "9 V,,V1.p,V1.n");
    const std::vector<NodePins> nodes = nodes_of(board);
    REQUIRE(nodes.size() == 6);
    CHECK(nodes[0].node == "gnd");
    CHECK(nodes[0].pins == std::vector<std::string>{"T1.primary.2", "T1.secondary.2",
                                                    "E1.control.2", "E1.n", "V1.n", "input.minus",
                                                    "output.minus"});
    CHECK(nodes[4].pins == std::vector<std::string>{"E1.p", "SB1 (open)"});
}

}  // namespace lowhiss::drawing_test
