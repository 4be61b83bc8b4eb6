// Which nodes are ground for common-mode rejection, and which are reached by radio: through
// junctions, measured impedances and regulators.

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/rejection.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::passive_reach_test {

const std::string follower = R"(
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
[parts]
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
U1 = { opamp = "amp", plus = "pin", minus = "out", out = "out" }
)";

Board board_with(const std::string& parts, const std::string& rest) {
    return test::board_from_text(follower + parts + "[output]\nplus = \"out\"\n" + rest);
}

TEST_CASE("an input terminal on a regulator's output is ground for signals", "[rejection]") {
    const auto rejection_db = [](const std::string& resistance) {
        const Board board = board_with(
            R"(
PS1 = { regulator = "5 V", input = "v", out = "ref")" +
                resistance + R"( }
R1 = { resistor = "1k", pins = ["in", "pin"] }
R2 = { resistor = "10k", pins = ["pin", "ref"] }
)",
            "[input]\nplus = \"in\"\nminus = \"ref\"\n");
        Setting setting(board, nullptr, 0);
        return common_mode_rejection_db(setting, 1000);
    };
    CHECK(std::isnan(rejection_db("")));
    CHECK(std::isfinite(rejection_db(", output_resistance = \"1R\"")));
}

TEST_CASE("radio reaches an amplifier through a diode that conducts", "[rejection]") {
    const Board board = board_with(
        R"(
D1 = { diode = "0.6 V", anode = "in", cathode = "pin" }
I1 = { current_source = "5 mA", from = "pin", into = "gnd" }
R1 = { resistor = "1k", pins = ["pin", "gnd"] }
)",
        "[input]\nplus = \"in\"\n");
    Setting setting(board, nullptr, 0);
    double diode_ohm = unset;
    for (const Element& element : setting.circuit(CircuitKind::radio).elements) {
        const auto* junction = std::get_if<Junction>(&element.law);
        if (junction) diode_ohm = 1 / junction->siemens;
    }
    REQUIRE(diode_ohm > 1);
    const double expected_db = 20 * std::log10((150 + diode_ohm + 1000) / 1000);
    CHECK_THAT(radio_rejection_db(setting, 1e6), WithinAbs(expected_db, 1e-9));
}

TEST_CASE("radio does not get past the output of a regulator", "[rejection]") {
    const auto rejection_db = [](const std::string& node) {
        const Board board = board_with(
            R"(
PS1 = { regulator = "5 V", input = "v", out = "rail" }
R1 = { resistor = "1k", pins = ["in", ")" +
                node + R"("] }
R2 = { resistor = "1k", pins = [")" +
                node + R"(", "pin"] }
R3 = { resistor = "1k", pins = ["pin", "gnd"] }
R4 = { resistor = "1k", pins = ["rail", "gnd"] }
)",
            "[input]\nplus = \"in\"\n");
        Setting setting(board, nullptr, 0);
        return radio_rejection_db(setting, 1e6);
    };
    CHECK(std::isnan(rejection_db("rail")));
    CHECK_THAT(rejection_db("x"), WithinAbs(20 * std::log10(3.15), 1e-9));
}

TEST_CASE("signals pass a measured impedance", "[rejection]") {
    const Board board = board_with(
        "R1 = { resistor = \"1k\", pins = [\"in\", \"pin\"] }\n"
        "R2 = { resistor = \"1k\", pins = [\"b\", \"gnd\"] }\n",
        "[input]\nplus = \"in\"\nminus = \"b\"\n");
    Capsule capsule;
    capsule.impedance = MeasuredCapsule{"", true, {{20, 200, 0}, {20000, 200, 10}}};
    const Circuit circuit = build_circuit(board, 0, &capsule, Drive::common);
    const bool measured =
        std::any_of(circuit.elements.begin(), circuit.elements.end(),
                    [](const Element& e) { return std::holds_alternative<MeasuredBranch>(e.law); });
    REQUIRE(measured);
    const std::vector<bool> reached = passively_reached(circuit);
    // The node behind both halves of the capsule, where the electromotive force stands.
    for (const Element& element : circuit.elements) {
        const auto* branch = std::get_if<MeasuredBranch>(&element.law);
        if (!branch) continue;
        CHECK(reached[static_cast<std::size_t>(branch->a)]);
        CHECK(reached[static_cast<std::size_t>(branch->b)]);
    }
    CHECK(reached[static_cast<std::size_t>(circuit.input_minus)]);
}

}  // namespace lowhiss::passive_reach_test
