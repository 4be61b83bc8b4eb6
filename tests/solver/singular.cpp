// Circuits without a unique solution are refused, and the message names the unknown that is not
// determined.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::singular_test {

const std::string sound = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)";

/// The text of the error that the refused circuit raises.
std::string refusal_of(const std::string& parts) {
    Network network = test::network_of({.parts = sound + parts});
    try {
        const Response response = network.respond(1000);
        return fmt::format("a gain of {}", std::abs(response.gain));
    } catch (const Error& error) {
        CHECK(error.kind() == Error::Kind::no_unique_solution);
        CHECK(error.diagnostics().at(0).code == "no-unique-solution");
        return error.diagnostics().at(0).found;
    }
}

bool has(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

int line_of_part(const Circuit& circuit, const std::string& name) {
    for (const CircuitPart& part : circuit.parts) {
        if (part.name == name) return part.at.line;
    }
    return 0;
}

TEST_CASE("a floating pair of nodes is named") {
    const std::string found = refusal_of(R"(
R3 = { resistor = "4k7", pins = ["left", "right"] }
)");
    CAPTURE(found);
    CHECK((has(found, "the voltage of node 'left'") || has(found, "the voltage of node 'right'")));
    CHECK(has(found, "1 kHz"));
}

TEST_CASE("a floating island with a source of its own is named") {
    const std::string found = refusal_of(R"(
E1 = { voltage_gain = 10, control = ["out", "gnd"], pins = ["a", "b"] }
R3 = { resistor = "4k7", pins = ["a", "b"] }
)");
    CAPTURE(found);
    CHECK((has(found, "node 'a'") || has(found, "node 'b'")));
}

TEST_CASE("two controlled sources with a loop gain of exactly one are named") {
    const std::string loop = R"(
E1 = {{ voltage_gain = {}, control = ["b", "gnd"], pins = ["a", "gnd"] }}
E2 = {{ voltage_gain = 4, control = ["a", "gnd"], pins = ["b", "gnd"] }}
)";
    const std::string found = refusal_of(fmt::format(fmt::runtime(loop), 0.25));
    CAPTURE(found);
    CHECK((has(found, "node 'a'") || has(found, "node 'b'")));
    // A loop gain of 0.999 has a solution.
    CHECK(refusal_of(fmt::format(fmt::runtime(loop), 0.24975)) == "a gain of 0.5");
}

TEST_CASE("a negative conductance that takes a resistor away is named") {
    const std::string against = R"(
R3 = {{ resistor = "1k", pins = ["x", "gnd"] }}
G1 = {{ transconductance = {}, control = ["x", "gnd"], pins = ["gnd", "x"] }}
)";
    const std::string found = refusal_of(fmt::format(fmt::runtime(against), 1e-3));
    CAPTURE(found);
    CHECK(has(found, "node 'x'"));
    CHECK(refusal_of(fmt::format(fmt::runtime(against), 0.999e-3)) == "a gain of 0.5");
}

TEST_CASE("the part that brings an undetermined unknown is named, with its line") {
    // The output of U2 is on ground, so that its current is not determined; U1 and U3 are sound.
    Network network = test::network_of(
        {.parts = sound + R"(U1 = { opamp = "ideal", plus = "out", minus = "a", out = "a" }
U2 = { opamp = "ideal", plus = "out", minus = "b", out = "gnd" }
R3 = { resistor = "1k", pins = ["b", "gnd"] }
U3 = { opamp = "ideal", plus = "out", minus = "c", out = "c" }
)",
         .tables = "[opamp.ideal]\nopen_loop_gain = \"100 dB\"\ngain_bandwidth = \"10 MHz\"\n"});
    try {
        network.respond(1000);
        FAIL("an ideal output on ground");
    } catch (const Error& error) {
        const Diagnostic& d = error.diagnostics().at(0);
        CHECK(d.subject == "U2");
        CHECK(d.at.line == line_of_part(network.circuit(), "U2"));
        CHECK(has(d.found, "the output current of U2"));
    }
}

TEST_CASE("two shorts in parallel leave their currents free") {
    const std::string found = refusal_of(R"(
R3 = { resistor = "1k", pins = ["x", "gnd"] }
SB1 = { link = "closed", pins = ["x", "out"] }
SB2 = { link = "closed", pins = ["x", "out"] }
)");
    CAPTURE(found);
    CHECK((has(found, "the current through SB1") || has(found, "the current through SB2")));
}

TEST_CASE("an amplifier's output shorted to ground is refused") {
    const std::string found = refusal_of(R"(
E1 = { voltage_gain = 2, control = ["out", "gnd"], pins = ["x", "gnd"] }
V1 = { voltage_source = "9 V", pins = ["x", "gnd"] }
)");
    CAPTURE(found);
    CHECK((has(found, "current of E1") || has(found, "current through V1")));
}

TEST_CASE("a singular circuit of many nodes is refused too") {
    std::string line;
    for (int k = 0; k < 250; ++k) {
        line += fmt::format(
            "RS{0} = {{ resistor = 10, pins = [\"{1}\", \"m{0}\"] }}\n"
            "RP{0} = {{ resistor = 1e6, pins = [\"m{0}\", \"gnd\"] }}\n",
            k, k == 0 ? "out" : fmt::format("m{}", k - 1));
    }
    CHECK(has(refusal_of(line), "a gain of"));
    const std::string floating =
        refusal_of(line + "R9 = { resistor = \"4k7\", pins = [\"left\", \"right\"] }\n");
    CAPTURE(floating);
    CHECK((has(floating, "of node 'left'") || has(floating, "of node 'right'")));
    const std::string loop = refusal_of(line + R"(
E1 = { voltage_gain = 0.25, control = ["b", "gnd"], pins = ["a", "gnd"] }
E2 = { voltage_gain = 4, control = ["a", "gnd"], pins = ["b", "gnd"] }
)");
    CAPTURE(loop);
    CHECK((has(loop, "node 'a'") || has(loop, "node 'b'") || has(loop, "current of E")));
}

}  // namespace lowhiss::singular_test
