// The direct voltages of a setting are solved for once.

#include <cmath>
#include <vector>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"
#include "lowhiss/measure/registry.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::operating_points_test {

/// An amplifier on a phantom feed, its supply made by `supply`; a coil as the capsule.
Board fed_board(const std::string& supply) {
    return test::board_from_text(R"(
[capsule.source]
kind = "dynamic"
coil_resistance = "200R"
coil_inductance = "1 mH"
sensitivity = "2 mV/Pa"
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
psrr = "80 dB"
supply_min = "5 V"
supply_current = "1 mA"
[parts]
R1 = { resistor = "1k", pins = ["p", "bus"], tolerance = "1 %" }
R2 = { resistor = "1k", pins = ["n", "bus"], tolerance = "1 %" }
)" + supply + R"(
U1 = { opamp = "amp", plus = "in", minus = "m", out = "amp", supply = ["vcc", "gnd"] }
R3 = { resistor = "10k", pins = ["in", "mid"], tolerance = "1 %" }
R4 = { resistor = "10k", pins = ["ret", "mid"], tolerance = "1 %" }
R5 = { resistor = "10k", pins = ["vcc", "mid"] }
R6 = { resistor = "10k", pins = ["mid", "gnd"] }
R7 = { resistor = "9k", pins = ["amp", "m"] }
R8 = { resistor = "1k", pins = ["m", "ret"] }
C1 = { capacitor = "10u", pins = ["amp", "p"] }
C2 = { capacitor = "10u", pins = ["gnd", "n"] }
[input]
plus = "in"
minus = "ret"
capsule = "source"
[output]
plus = "p"
minus = "n"
[feed]
plus = "p"
minus = "n"
standard = "P48"
[[ripple]]
source = "feed"
lines = [["100 Hz", "10 mV"]]
)");
}

const std::string zener = R"(
Z1 = { zener = "12 V", current = "2 mA", dynamic_resistance = "10R", anode = "gnd", cathode = "vcc" }
R9 = { resistor = "1k", pins = ["bus", "vcc"] }
)";
const std::string resistor = R"(
R9 = { resistor = "1k", pins = ["bus", "vcc"] }
)";

void take_everything(Assembly& assembly) {
    for (const MeasureRecord& measure : measure_records()) {
        MeasureArguments arguments;
        arguments.part = "feed";
        value_of(measure, arguments, assembly, 0);
    }
}

TEST_CASE("a setting finds the operating point of each of its circuits once", "[operating]") {
    const Board board = fed_board(zener);
    const Capsule* capsule = test::capsule_of(board);
    Setting setting(board, capsule, 0);
    CHECK(setting.operating_points_found() == 1);
    setting.operating();
    setting.supply(SupplyEnd::nominal);
    CHECK(setting.stability().known);
    setting.stability_with_cable(1e-9);
    setting.at(1000);
    PartSensitivity(setting, {0, 1}).gain(1000);
    CHECK(setting.operating_points_found() == 1);

    setting.network(CircuitKind::ideal);
    setting.network(CircuitKind::common);
    CHECK(setting.operating_points_found() == 3);
    setting.network(CircuitKind::ideal);
    setting.network(CircuitKind::common);
    CHECK(setting.operating_points_found() == 3);
}

TEST_CASE("a setting's circuit stays where it is when its network is made", "[operating]") {
    const Board board = fed_board(zener);
    Setting setting(board, test::capsule_of(board), 0);
    const Circuit& circuit = setting.circuit();
    const std::size_t elements = circuit.elements.size();
    REQUIRE(elements > 0);
    CHECK(&setting.network().circuit() == &circuit);
    CHECK(circuit.elements.size() == elements);

    // Each measure as the first one of its setting.
    for (const MeasureRecord& measure : measure_records()) {
        if (measure.over_knob) continue;
        CAPTURE(measure.name);
        MeasureArguments arguments;
        arguments.part = "feed";
        Setting first(board, test::capsule_of(board), 0);
        Setting later(board, test::capsule_of(board), 0);
        later.network();
        const double a = measure.at_setting(first, arguments).value;
        const double b = measure.at_setting(later, arguments).value;
        CHECK((a == b || (std::isnan(a) && std::isnan(b))));
    }
}

TEST_CASE("all measures together ask for no operating point twice", "[operating]") {
    // Seven circuits, the feed's resistors apart either way, and two ends of the supply.
    const Board board = fed_board(zener);
    Assembly assembly(board, "", board.input.capsule);
    take_everything(assembly);
    CHECK(assembly.setting(0).operating_points_found() == 9);
    take_everything(assembly);
    CHECK(assembly.setting(0).operating_points_found() == 9);
}

TEST_CASE("plans use the operating points of the settings that they are made from", "[operating]") {
    const Board board = fed_board(zener);
    Assembly assembly(board, "", board.input.capsule);
    CHECK(assembly.plans().real != nullptr);
    CHECK(assembly.setting(0).operating_points_found() == 3);  // real, ideal and common
    assembly.setting(0).network(CircuitKind::common).respond(1000);
    assembly.setting(0).supply(SupplyEnd::nominal);
    CHECK(assembly.setting(0).operating_points_found() == 3);
}

TEST_CASE("without junctions and regulators only direct voltages ask for an operating point",
          "[operating]") {
    const Board board = fed_board(resistor);
    Assembly assembly(board, "", board.input.capsule);
    CHECK(assembly.setting(0).operating_points_found() == 0);
    take_everything(assembly);
    CHECK(assembly.setting(0).operating_points_found() == 3);  // the three ends of the supply
}

}  // namespace lowhiss::operating_points_test
