// The topology stage names transistors without a bias path in these words. The parts' lines begin
// at line 10.

#include "lowhiss/topology/check.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::transistor_findings_test {

std::string findings(const std::string& parts) {
    const Board board = test::board_from_text(R"([jfet.j]
polarity = "n"
saturation_current = "4 mA"
pinch_off_voltage = "2 V"
[parts]
V1 = { voltage_source = "12 V", pins = ["vcc", "gnd"] }
R1 = { resistor = "4k7", pins = ["vcc", "out"] }
R2 = { resistor = "1k", pins = ["s", "gnd"] }
R3 = { resistor = "1M", pins = ["in", "gnd"] }
)" + parts + R"(
[input]
plus = "in"
[output]
plus = "out"
)");
    std::string text;
    for (const Diagnostic& d :
         check_topology(board, build_circuit(board, 0, test::capsule_of(board)))) {
        text += d.subject + ": " + d.found + " [" + d.code + "]\n";
    }
    return text;
}

TEST_CASE("a gate needs a path for its current", "[topology][transistors]") {
    const std::string biased =
        "J1 = { jfet = \"j\", drain = \"out\", gate = \"g\", source = \"s\" }\n"
        "C1 = { capacitor = \"1u\", pins = [\"in\", \"g\"] }\n";
    CHECK(findings(biased) ==
          "J1: the bias current of J1.gate has no path from 'g' to ground; also connected: C1 "
          "(board.toml:11) [no-direct-path]\n");
    CHECK(findings(biased + "R4 = { resistor = \"1G\", pins = [\"g\", \"gnd\"] }\n") == "");
    CHECK(findings("J1 = { jfet = \"j\", drain = \"out\", gate = \"g\", source = \"s\" }\n") ==
          "J1: the bias current of J1.gate has no path from 'g' to ground [no-direct-path]\n"
          "J1.gate: no other pin is on the node 'g' [lone-pin]\n");
}

}  // namespace lowhiss::transistor_findings_test
