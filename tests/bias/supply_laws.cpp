// Laws of supplies at the ends of their ranges, against hand formulas: amplifiers with too little
// supply, Zener diodes at 0 V, split sources, outputs that take current on regulated rails.

#include <fmt/format.h>

#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/measure/supply.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::supply_laws_test {

const std::string amplifier = R"(
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
supply_min = "8 V"
supply_current = "2 mA"
swing_from_positive_rail = "1.5 V"
swing_from_negative_rail = "1 V"
)";

Board board_on(const std::string& parts) {
    return test::board_of(
        {.parts = "R99 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n" + parts,
         .tables = amplifier});
}

double node_v(const std::string& parts, const std::string& node) {
    const Circuit circuit = build_circuit(board_on(parts), 0, nullptr);
    const auto found = std::find(circuit.nodes.begin(), circuit.nodes.end(), node);
    REQUIRE(found != circuit.nodes.end());
    return operating_point(circuit).node_v(static_cast<int>(found - circuit.nodes.begin()));
}

TEST_CASE("an amplifier below its least supply draws in proportion", "[operating]") {
    // 2 mA at 8 V: 4 kohm below that. Behind 1 kohm, 9 V leave 7.2 V; 12 V leave 10 V, and 2 mA.
    const auto behind = [](double volts) {
        return fmt::format(R"(
V1 = {{ voltage_source = {}, pins = ["v", "gnd"] }}
R1 = {{ resistor = "1k", pins = ["v", "vcc"] }}
R2 = {{ resistor = "1M", pins = ["p", "gnd"] }}
V2 = {{ voltage_source = "2 V", pins = ["p", "gnd"] }}
U1 = {{ opamp = "amp", plus = "p", minus = "out", out = "out", supply = ["vcc", "gnd"] }}
)",
                           volts);
    };
    CHECK_THAT(node_v(behind(9), "vcc"), WithinAbs(7.2, 1e-8));
    CHECK_THAT(node_v(behind(9.99), "vcc"), WithinAbs(9.99 * 0.8, 1e-8));
    CHECK_THAT(node_v(behind(10.01), "vcc"), WithinAbs(8.01, 1e-8));
    CHECK_THAT(node_v(behind(12), "vcc"), WithinAbs(10, 1e-8));
    // 2 V less than the swings leave: the output divides 2 V as 1 V and 1.5 V do.
    CHECK_THAT(node_v(behind(2.5), "vcc"), WithinAbs(2, 1e-8));
    CHECK_THAT(node_v(behind(2.5), "out"), WithinAbs(0.8, 1e-8));
}

TEST_CASE("a Zener diode carries no current at 0 V", "[operating]") {
    // 2.4 V at 5 mA with 100 ohm: a soft part, whose exponential alone carries 41 uA at 0 V.
    const std::string zener =
        "Z1 = { zener = \"2.4 V\", current = \"5 mA\", dynamic_resistance = \"100R\", anode = "
        "\"gnd\", cathode = \"out\" }\n"
        "R1 = { resistor = \"100k\", pins = [\"v\", \"out\"] }\n";
    const auto driven = [&](double volts) {
        return node_v(
            fmt::format("V1 = {{ voltage_source = {:.17g}, pins = [\"v\", \"gnd\"] }}\n", volts) +
                zener,
            "out");
    };
    CHECK_THAT(driven(0), WithinAbs(0, 1e-9));
    // I = Ib (e^(v / V) - 1) / (e^(Vb / V) - 1) with V (1 - e^(-Vb / V)) = 100 ohm x 5 mA, and the
    // forward law of 0.7 V at 1 mA, ideality 1.8, in reverse; both by halving.
    double slope_v = 0.5;
    for (int k = 0; k < 200; ++k) slope_v = 0.5 / -std::expm1(-2.4 / slope_v);
    const double forward_v = 1.8 * 1.380649e-23 * 293.15 / 1.602176634e-19;
    const double saturation_a = 1e-3 / std::expm1(0.7 / forward_v);
    for (const double volts : {-5.0, 0.5, 20.0, 502.4}) {
        const auto left = [&](double v) {
            return (volts - v) / 1e5 - 5e-3 * std::expm1(v / slope_v) / std::expm1(2.4 / slope_v) +
                   saturation_a * std::expm1(-v / forward_v);
        };
        double low = -1;
        double high = 3;
        for (int k = 0; k < 100; ++k) {
            const double middle = (low + high) / 2;
            (left(middle) > 0 ? low : high) = middle;
        }
        CAPTURE(volts);
        CHECK_THAT(driven(volts), WithinAbs(low, 2e-9));
    }
    CHECK_THAT(driven(502.4), WithinAbs(2.4, 1e-4));  // 5 mA through 100 kohm: what the sheet says
}

TEST_CASE("two sources of 9 V deliver what flows from both", "[operating]") {
    // 18 V across 6 kohm: 3 mA out of each, however the lower one is drawn. One that is charged
    // adds nothing.
    for (const char* lower : {"V2 = { voltage_source = \"-9 V\", pins = [\"vee\", \"gnd\"] }\n",
                              "V2 = { voltage_source = \"9 V\", pins = [\"gnd\", \"vee\"] }\n"}) {
        const SupplyState state =
            supply_state(board_on("V1 = { voltage_source = \"9 V\", pins = [\"vcc\", \"gnd\"] }\n" +
                                  std::string(lower) +
                                  "R1 = { resistor = \"6k\", pins = [\"vcc\", \"vee\"] }\n"
                                  "R2 = { resistor = \"1k\", pins = [\"out\", \"gnd\"] }\n"),
                         0, nullptr);
        CHECK_THAT(supply_current_a(state), WithinAbs(6e-3, 1e-12));
        for (const SourceState& source : state.sources) {
            CHECK_THAT(source.amperes, WithinAbs(3e-3, 1e-12));
        }
    }
    const SupplyState charged =
        supply_state(board_on("V1 = { voltage_source = \"9 V\", pins = [\"a\", \"gnd\"] }\n"
                              "V2 = { voltage_source = \"6 V\", pins = [\"out\", \"gnd\"] }\n"
                              "R1 = { resistor = \"1k\", pins = [\"a\", \"out\"] }\n"),
                     0, nullptr);
    CHECK_THAT(supply_current_a(charged), WithinAbs(3e-3, 1e-12));
}

TEST_CASE("an output below ground takes its current on regulated rails", "[operating]") {
    // A follower at -2 V into 1 kohm, on +5 V of a regulator and -9 V of a converter: 2 mA from
    // ground into the minus rail.
    const std::string parts = R"(
V1 = { voltage_source = "12 V", pins = ["v", "gnd"] }
PS1 = { regulator = "5 V", input = "v", out = "vcc" }
PS2 = { converter = "-9 V", input = "v", out = "vee", efficiency = "50 %", input_min = "3 V" }
V3 = { voltage_source = "-2 V", pins = ["p", "gnd"] }
R1 = { resistor = "1k", pins = ["out", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "out", out = "out", supply = ["vcc", "vee"] }
)";
    CHECK_THAT(node_v(parts, "out"), WithinAbs(-2, 1e-5));
    CHECK_THAT(node_v(parts, "vcc"), WithinAbs(5, 1e-9));
    CHECK_THAT(node_v(parts, "vee"), WithinAbs(-9, 1e-9));
    const SupplyState state = supply_state(board_on(parts), 0, nullptr);
    // 2 mA through the regulator; 4 mA at 9 V over 50 % and 12 V through the converter.
    CHECK_THAT(supply_current_a(state), WithinAbs(2e-3 + 4e-3 * 9 / 0.5 / 12, 1e-7));
    CHECK(faults_of(state).empty());
}

TEST_CASE("a regulator that drops out may also be held from elsewhere", "[operating]") {
    // 4 V in: it could give 3.5 V. 12 V through 1 kohm and 9 kohm to ground hold 10.8 V; through 9
    // kohm and 1 kohm they would give 1.2 V, and the regulator delivers.
    const auto with = [](const char* from, const char* to) {
        return fmt::format(R"(
V1 = {{ voltage_source = "4 V", pins = ["v", "gnd"] }}
V2 = {{ voltage_source = "12 V", pins = ["high", "gnd"] }}
PS1 = {{ regulator = "5 V", input = "v", out = "out", dropout = "0.5 V" }}
R1 = {{ resistor = "{}", pins = ["high", "out"] }}
R2 = {{ resistor = "{}", pins = ["out", "gnd"] }}
)",
                           from, to);
    };
    // A node that is held leaks by 1 pS, here 9.7 nV across 900 ohm.
    CHECK_THAT(node_v(with("1k", "9k"), "out"), WithinAbs(10.8, 2e-8));
    CHECK_THAT(node_v(with("9k", "1k"), "out"), WithinAbs(3.5, 1e-9));
    // Held between what it could give and its own voltage.
    CHECK_THAT(node_v(with("2k", "1k"), "out"), WithinAbs(4, 2e-8));
}

}  // namespace lowhiss::supply_laws_test
