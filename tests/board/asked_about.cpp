// The reader warns of names of nodes that are nearly the same, and of unusual values.

#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::asked_about_test {

/// The warnings of a board with these parts, which must be read all the same. Their lines begin at
/// line 4.
std::string warnings_of(const std::string& parts, const std::string& rest = "") {
    const std::string text = R"([parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)" + parts + "[input]\nplus = \"in\"\n[output]\nplus = \"out\"\n" +
                             rest;
    const BoardReading reading =
        read_board("board.toml", test::memory_reader({{"board.toml", text}}));
    CHECK(reading.board);
    return test::all_text(reading.diagnostics);
}

/// "4 R3.resistor: what was found" of each.
std::string short_warnings_of(const std::string& parts) {
    const std::string text = "[parts]\nR1 = { resistor = \"1k\", pins = [\"in\", \"out\"] }\n" +
                             parts + "[input]\nplus = \"in\"\n[output]\nplus = \"out\"\n";
    const BoardReading reading =
        read_board("board.toml", test::memory_reader({{"board.toml", text}}));
    CHECK(reading.board);
    std::string found;
    for (const Diagnostic& d : reading.diagnostics) {
        CHECK(d.severity == Severity::warning);
        found += d.subject + ": " + d.found + "\n";
    }
    return found;
}

TEST_CASE("a node that differs from ground by case alone is asked about") {
    CHECK(
        warnings_of("C1 = { capacitor = \"1u\", pins = [\"out\", \"GND\"] }\n") ==
        R"(board.toml:4:41: warning: C1: the node 'GND' differs from 'gnd', which is ground, by case alone [similar-node]
    4 | C1 = { capacitor = "1u", pins = ["out", "GND"] }
      |                                         ^
      = advice: did you mean 'gnd'? If these are two nodes, rename one of them
)");
}

TEST_CASE("so is one that differs from another node, the one with fewer pins") {
    CHECK(short_warnings_of("R3 = { resistor = \"1k\", pins = [\"out\", \"Out\"] }\n"
                            "R4 = { resistor = \"1k\", pins = [\"Out\", \"gnd\"] }\n"
                            "R5 = { resistor = \"1k\", pins = [\"OUT\", \"out\"] }\n") ==
          "R3: the node 'Out' differs from 'out' by case alone\n"
          "R5: the node 'OUT' differs from 'out' by case alone\n");
    CHECK(short_warnings_of("R3 = { resistor = \"1k\", pins = [\"out\", \"out2\"] }\n") == "");
}

TEST_CASE("a variant's nodes count too") {
    const std::string text =
        warnings_of("", "[variants.x]\nset = { R2 = { pins = [\"out\", \"Gnd\"] } }\n");
    CHECK(text.find("R2: the node 'Gnd' differs from 'gnd', which is ground, by case alone") !=
          std::string::npos);
}

TEST_CASE("values that parts of a kind do not have are asked about") {
    CHECK(
        warnings_of("C1 = { capacitor = \"100M\", pins = [\"out\", \"gnd\"] }\n") ==
        R"(board.toml:4:20: warning: C1.capacitor: 100 MF is unusually large for a capacitor [unusual-value]
    4 | C1 = { capacitor = "100M", pins = ["out", "gnd"] }
      |                    ^
      = accepted: usually 10 fF to 50 mF
      = advice: check the unit and its prefix: M is mega, m is milli, u is micro
)");
    CHECK(short_warnings_of("C1 = { capacitor = \"4.7 kF\", pins = [\"out\", \"gnd\"] }\n"
                            "R2 = { resistor = \"10 uohm\", pins = [\"out\", \"gnd\"] }\n"
                            "R3 = { resistor = 0, pins = [\"x\", \"gnd\"] }\n"
                            "R4 = { resistor = \"1G\", pins = [\"x\", \"gnd\"] }\n"
                            "L1 = { inductor = \"47M\", pins = [\"out\", \"gnd\"] }\n"
                            "V1 = { voltage_source = \"-48k\", pins = [\"x\", \"gnd\"] }\n") ==
          "C1.capacitor: 4.7 kF is unusually large for a capacitor\n"
          "R2.resistor: 10 µΩ is unusually small for a resistor\n"
          "L1.inductor: 47 MH is unusually large for an inductor\n"
          "V1.voltage_source: 48 kV is unusually large for a voltage_source\n");
}

TEST_CASE("a variant's value is asked about") {
    const std::string text = warnings_of("", "[variants.x]\nset = { R2 = \"200G\" }\n");
    CHECK(text.find("R2.resistor: 200 GΩ is unusually large for a resistor") != std::string::npos);
}

TEST_CASE("a very wide tolerance is asked about") {
    CHECK(short_warnings_of(
              "R2 = { resistor = \"1k\", pins = [\"out\", \"gnd\"], tolerance = \"100 %\" }\n"
              "R3 = { resistor = \"1k\", pins = [\"out\", \"gnd\"], tolerance = 1 }\n"
              "C1 = { capacitor = \"1u\", pins = [\"out\", \"gnd\"], tolerance = [\"-20 %\", \"80 "
              "%\"] }\n"
              "C2 = { capacitor = \"1u\", pins = [\"out\", \"gnd\"], tolerance = [\"-80 %\", \"20 "
              "%\"] }\n") ==
          "R2.tolerance: a tolerance of 100 % is unusually wide\n"
          "R3.tolerance: a tolerance of 100 % is unusually wide\n"
          "C2.tolerance: a tolerance of 80 % is unusually wide\n");
}

}  // namespace lowhiss::asked_about_test
