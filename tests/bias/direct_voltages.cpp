// Operating points against hand computation, Lambert's W function (Boost.Math) and the circuit's
// own laws on random networks.

#include <boost/math/special_functions/lambert_w.hpp>
#include <random>

#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/measure/supply.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::direct_voltages_test {

constexpr double elementary_charge_c = 1.602176634e-19;  // SI, exact since 2019
constexpr double thermal_v = test::boltzmann_j_k * 293.15 / elementary_charge_c;

/// A board around some parts on a supply, so that it has an input and an output.
test::Stage on_supply(const std::string& parts, const std::string& tables = "") {
    return {.parts = "R99 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n" + parts,
            .tables = tables};
}

double node_v(const test::Stage& stage, const std::string& node) {
    const Circuit circuit = build_circuit(test::board_of(stage), 0, nullptr);
    const auto found = std::find(circuit.nodes.begin(), circuit.nodes.end(), node);
    REQUIRE(found != circuit.nodes.end());
    return operating_point(circuit).node_v(static_cast<int>(found - circuit.nodes.begin()));
}

SupplyState state_of(const test::Stage& stage) {
    return supply_state(test::board_of(stage), 0, nullptr);
}

const std::string amplifier = R"(
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
supply_min = "5 V"
supply_max = "30 V"
supply_current = "2 mA"
swing_from_positive_rail = "1.5 V"
swing_from_negative_rail = "1 V"
bias_current = "100 nA"
offset_voltage = "1 mV"
)";

Diagnostic refusal_of(const test::Stage& stage) {
    const Board board = test::board_of(stage);
    try {
        operating_point(build_circuit(board, 0, nullptr));
    } catch (const Error& error) {
        CHECK(error.kind() == Error::Kind::no_unique_solution);
        return error.diagnostics().front();
    }
    FAIL("a circuit without an operating point");
    return {};
}

TEST_CASE("a diode behind a resistor carries what Lambert's W says", "[operating]") {
    // Corless et al., "On the Lambert W function", Advances in Computational Mathematics 5, 1996:
    // I = (nVt/R) W((Is R/nVt) exp((V + Is R)/nVt)) - Is.
    for (const double volts : {0.1, 0.5, 1.0, 5.0, 48.0, 300.0}) {
        CAPTURE(volts);
        const auto stage = on_supply(fmt::format(R"(
V1 = {{ voltage_source = {}, pins = ["v", "gnd"] }}
R1 = {{ resistor = "1k", pins = ["v", "out"] }}
D1 = {{ diode = "0.62 V", current = "1 mA", ideality = 1.7, anode = "out", cathode = "gnd" }}
)",
                                                 volts));
        const double slope_v = 1.7 * thermal_v;
        const double saturation_a = 1e-3 / std::expm1(0.62 / slope_v);
        const double loop = saturation_a * 1e3 / slope_v;
        // W(e^z) with z too large for e^z: w + ln w = z, by Newton's method.
        const double z = std::log(loop) + (volts + saturation_a * 1e3) / slope_v;
        double w = z < 500 ? boost::math::lambert_w0(std::exp(z)) : z - std::log(z);
        for (int k = 0; k < 20; ++k) w -= (w + std::log(w) - z) * w / (w + 1);
        const double amperes = slope_v / 1e3 * w - saturation_a;
        const double expected_v = volts - 1e3 * amperes;
        CHECK_THAT(node_v(stage, "out"),
                   WithinAbs(expected_v, 1e-9));  // the criterion of convergence
    }
}

TEST_CASE("a diode the wrong way round carries its saturation current", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
D1 = { diode = "0.6 V", anode = "gnd", cathode = "out" }
R1 = { resistor = "100k", pins = ["v", "out"] }
)");
    const double slope_v = 1.8 * thermal_v;
    const double saturation_a = 1e-3 / std::expm1(0.6 / slope_v);
    CHECK_THAT(node_v(stage, "out"), WithinAbs(9 - 1e5 * saturation_a, 1e-9));
}

TEST_CASE("a Zener diode has its voltage at its current and its resistance about it",
          "[operating]") {
    // 24 V behind 2.4 kohm: 5 mA at 12 V.
    const auto stage = [](const std::string& volts) {
        return on_supply("V1 = { voltage_source = \"" + volts + R"(", pins = ["v", "gnd"] }
R1 = { resistor = "2k4", pins = ["v", "out"] }
Z1 = { zener = "12 V", current = "5 mA", dynamic_resistance = "10R", anode = "gnd", cathode = "out" }
)");
    };
    CHECK_THAT(node_v(stage("24 V"), "out"), WithinAbs(12, 1e-8));
    // 24 mV more of supply is 10 uA more: 10 ohm of 2410 take 99.6 uV.
    const double rise_v = node_v(stage("24.024 V"), "out") - 12;
    // 10 uA of 5 mA bend the exponential by a thousandth.
    CHECK_THAT(rise_v, WithinRel(0.024 * 10 / 2410, 1.1e-3));
    // For small signals the same: the ripple of the supply is divided by 241.
    Board board = test::board_of(stage("24 V"));
    Setting setting(board, nullptr, 0);
    const Circuit& circuit = setting.network().circuit();
    const Solution solution = setting.network().solve(1000);
    const auto equation = static_cast<std::size_t>(circuit.supplies.front().equation);
    CHECK_THAT(std::abs(solution.y[equation]), WithinAbs(10.0 / 2410, 1e-8));
}

TEST_CASE("a light-emitting diode makes shot noise of its current", "[operating][noise]") {
    // 2qI into the junction's differential resistance n Vt / I, beside 1 kohm: Schottky 1918.
    const auto stage = on_supply(R"(
V1 = { voltage_source = "3 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "out"] }
D1 = { led = "2 V", current = "1 mA", ideality = 2, anode = "out", cathode = "gnd" }
)");
    Board board = test::board_of(stage);
    Setting setting(board, nullptr, 0);
    const double junction_ohm = 2 * thermal_v / 1e-3;
    const double ohm = 1e3 * junction_ohm / (1e3 + junction_ohm);
    const double expected =
        (2 * elementary_charge_c * 1e-3 + 4 * test::boltzmann_j_k * 293.15 / 1e3) * ohm * ohm;
    CHECK_THAT(test::output_noise_v2_hz(setting.network(), 1e3), WithinRel(expected, 1e-7));
}

TEST_CASE("a string of LEDs has its forward voltage at its current", "[operating]") {
    const auto stage = on_supply(R"(
I1 = { current_source = "20 mA", from = "gnd", into = "out" }
D1 = { led = "48 V", current = "20 mA", anode = "out", cathode = "gnd" }
)");
    CHECK_THAT(node_v(stage, "out"), WithinAbs(48, 1e-8));
}

TEST_CASE("a linear regulator holds its voltage until its input is too low", "[operating]") {
    const auto stage = [](const std::string& volts) {
        return on_supply("V1 = { voltage_source = \"" + volts + R"(", pins = ["v", "gnd"] }
PS1 = { regulator = "5 V", input = "v", out = "out", dropout = "0.4 V", quiescent_current = "1 mA", ripple_rejection = "60 dB" }
R1 = { resistor = "500R", pins = ["out", "gnd"] }
)");
    };
    CHECK_THAT(node_v(stage("9 V"), "out"), WithinAbs(5, 1e-12));
    CHECK_THAT(node_v(stage("5 V"), "out"), WithinAbs(4.6, 1e-12));
    CHECK_THAT(node_v(stage("0.2 V"), "out"), WithinAbs(0, 1e-12));
    CHECK_THAT(supply_current_a(state_of(stage("9 V"))), WithinAbs(11e-3, 1e-12));
    const auto ripple = [](const Board& board) {
        Setting setting(board, nullptr, 0);
        const Circuit& circuit = setting.network().circuit();
        const Solution solution = setting.network().solve(1000);
        return std::abs(solution.y[static_cast<std::size_t>(circuit.supplies.front().equation)]);
    };
    CHECK_THAT(ripple(test::board_of(stage("9 V"))), WithinAbs(1e-3, 1e-12));
    CHECK_THAT(ripple(test::board_of(stage("5 V"))), WithinRel(1, 1e-12));
    CHECK(faults_of(state_of(stage("9 V"))).empty());
    CHECK(faults_of(state_of(stage("5 V"))).size() == 1);
}

TEST_CASE("a linear regulator delivers current and takes none", "[operating]") {
    // 12 V through 100 ohm against 900 ohm to ground: 10.8 V, which a regulator of 5 V cannot
    // lower.
    const auto stage = on_supply(R"(
V1 = { voltage_source = "12 V", pins = ["v", "gnd"] }
PS1 = { regulator = "5 V", input = "v", out = "out" }
R1 = { resistor = "100R", pins = ["v", "out"] }
R2 = { resistor = "900R", pins = ["out", "gnd"] }
)");
    CHECK_THAT(node_v(stage, "out"), WithinAbs(10.8, 1e-9));
    const auto faults = faults_of(state_of(stage));
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].kind == SupplyFault::Kind::held);
}

TEST_CASE("an output's swing is that of its pin, its resistance included", "[operating]") {
    // 13.5 V from the rail less the swing, not 13.5 V ahead of 100 ohm into 600 ohm.
    const auto stage = on_supply(R"(
V1 = { voltage_source = "15 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "15 V", pins = ["gnd", "vee"] }
V3 = { voltage_source = "15 V", pins = ["p", "gnd"] }
R1 = { resistor = "600R", pins = ["out", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "out", out = "out", supply = ["vcc", "vee"] }
)",
                                 amplifier + "output_resistance = \"100R\"\n");
    CHECK_THAT(node_v(stage, "out"), WithinAbs(13.5, 1e-9));
}

TEST_CASE("a diode in the way of a supply drops its forward voltage", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["bat", "gnd"] }
V2 = { voltage_source = "9 V", pins = ["gnd", "vee"] }
D1 = { diode = "0.6 V", current = "2 mA", anode = "bat", cathode = "vcc" }
R1 = { resistor = "100k", pins = ["p", "gnd"] }
R2 = { resistor = "9k", pins = ["out", "n"] }
R3 = { resistor = "1k", pins = ["n", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "n", out = "out", supply = ["vcc", "vee"] }
)",
                                 amplifier);
    // 2 mA to the amplifier, and nothing of the output's, which is negative.
    CHECK_THAT(node_v(stage, "vcc"), WithinAbs(8.4, 1e-8));
}

TEST_CASE("a converter takes the power that it gives, over its efficiency", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "3 V", pins = ["v", "gnd"] }
R2 = { resistor = "0R5", pins = ["v", "b"] }
PS1 = { converter = "9 V", input = "b", out = "out", efficiency = "80 %", input_min = "2 V", quiescent_current = "2 mA" }
R1 = { resistor = "900R", pins = ["out", "gnd"] }
)");
    // 90 mW out, 112.5 mW in besides 2 mA: v (i - 2 mA) = 0.1125, v = 3 - i / 2.
    const double b = -(3 + 0.001);
    const double i = (-b - std::sqrt(b * b - 4 * 0.5 * (0.1125 + 0.006))) / (2 * 0.5);
    CHECK_THAT(node_v(stage, "b"), WithinAbs(3 - i / 2, 1e-8));
    CHECK_THAT(supply_current_a(state_of(stage)), WithinAbs(i, 1e-8));
    // For small signals its input is a negative resistance: v^2 / P with P the power it takes.
    Board board = test::board_of(stage);
    Setting setting(board, nullptr, 0);
    const Circuit& circuit = setting.network().circuit();
    const Complex drive = 1;
    setting.network().solve(1000);
    std::vector<Complex> unit(circuit.unknowns.size());
    unit[static_cast<std::size_t>(circuit.supplies.front().equation)] = drive;
    const std::vector<Complex> x = setting.network().respond_to(unit);
    const auto node = std::find(circuit.nodes.begin(), circuit.nodes.end(), "b");
    const double gain = node_voltage(x, static_cast<int>(node - circuit.nodes.begin())).real();
    const double v = 3 - i / 2;
    const double negative_ohm = -v * v / 0.1125;
    CHECK_THAT(gain, WithinAbs(negative_ohm / (negative_ohm + 0.5), 1e-7));
}

TEST_CASE("an op-amp's bias current flows through what is on its inputs", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "9 V", pins = ["gnd", "vee"] }
R1 = { resistor = "100k", pins = ["p", "gnd"] }
R2 = { resistor = "9k", pins = ["out", "n"] }
R3 = { resistor = "1k", pins = ["n", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "n", out = "out", supply = ["vcc", "vee"] }
)",
                                 amplifier);
    const SupplyState state = state_of(stage);
    // -100 nA x 100 kohm at the plus input, times 10, and 100 nA through the 9 kohm.
    CHECK_THAT(state.output_v, WithinAbs(-0.01 * 10 + 100e-9 * 9e3, 2e-6));  // loop gain of 1e5
    CHECK_THAT(state.output_offset_v, WithinAbs(10e-3, 1e-7));
    REQUIRE(state.amplifiers.size() == 1);
    CHECK_THAT(state.amplifiers[0].supply_v, WithinAbs(18, 1e-12));
    CHECK(state.amplifiers[0].in_reach);
    // The two sources' current: 2 mA each, and what the output takes from the lower one.
    const double out_a = (state.output_v + 0.01) / 9e3;  // the inputs are at -10 mV
    CHECK_THAT(state.sources[0].amperes, WithinAbs(2e-3, 1e-9));
    CHECK_THAT(state.sources[1].amperes, WithinAbs(2e-3 - out_a, 1e-9));
}

TEST_CASE("an op-amp without mid-rail bias is stuck at its lower rail", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "-0.2 V", pins = ["p", "gnd"] }
R2 = { resistor = "9k", pins = ["out", "n"] }
R3 = { resistor = "1k", pins = ["n", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "n", out = "out", supply = ["vcc", "gnd"] }
)",
                                 amplifier);
    const SupplyState state = state_of(stage);
    CHECK_THAT(state.output_v, WithinRel(1, 1e-12));  // swing_from_negative_rail
    const auto faults = faults_of(state);
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].text == "output stuck at 1 V, the limit of its swing");
}

TEST_CASE("a positive feedback at direct current ends at a rail", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "12 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "6 V", pins = ["n", "gnd"] }
R1 = { resistor = "10k", pins = ["out", "p"] }
R2 = { resistor = "10k", pins = ["p", "vcc"] }
U1 = { opamp = "amp", plus = "p", minus = "n", out = "out", supply = ["vcc", "gnd"] }
)",
                                 amplifier);
    const double out_v = node_v(stage, "out");
    CHECK_THAT(out_v, WithinAbs(10.5, 1e-9) || WithinAbs(1, 1e-9));
}

TEST_CASE("direct voltages without a solution say where", "[operating]") {
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
L1 = { inductor = "1 mH", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)");
    try {
        node_v(stage, "out");
        FAIL("a source across a coil without resistance");
    } catch (const Error& error) {
        CHECK(error.kind() == Error::Kind::no_unique_solution);
        CHECK(error.diagnostics().front().code == "no-operating-point");
    }
}

TEST_CASE("the amplifier whose inner state direct current leaves open is named", "[operating]") {
    // A gain pin of U2 on ground: the buffer's current must be 0 and no equation is left for the
    // integrator. U1 and U3 are sound, and so are the parts before and behind them.
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
R1 = { resistor = "10k", pins = ["vcc", "p"] }
R2 = { resistor = "10k", pins = ["p", "gnd"] }
U1 = { opamp = "amp", plus = "p", minus = "out", out = "out", supply = ["vcc", "gnd"] }
U2 = { preamp_ic = "ic", plus = "p", minus = "p", gain_pins = ["gnd", "g"], out = "o", reference = "p" }
U3 = { opamp = "amp", plus = "p", minus = "o3", out = "o3", supply = ["vcc", "gnd"] }
)",
                                 amplifier + R"(
[preamp_ic.ic]
gain_resistance = "10k"
gain_offset = 1
bandwidth = [[1, "4 MHz"], [100, "1 MHz"]]
)");
    const Diagnostic d = refusal_of(stage);
    CHECK(d.code == "no-operating-point");
    CHECK(d.subject == "U2");
    CHECK(d.at.line > 0);
}

TEST_CASE("the part that keeps the others from settling is named", "[operating]") {
    // PS1 would need 95 mW at its input, and 22 mW are all that 3 V behind 100 ohm can give.
    // Stopped, its output is 2.7 V, and 2.7 V are enough to start. The amplifiers compare its
    // output with voltages that it passes: in every step U1 and U2, which the board lists first,
    // change from rail to rail as well.
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "6 V", pins = ["high", "gnd"] }
V3 = { voltage_source = "5 V", pins = ["low", "gnd"] }
U1 = { opamp = "amp", plus = "c", minus = "high", out = "out", supply = ["vcc", "gnd"] }
U2 = { opamp = "amp", plus = "c", minus = "low", out = "o2", supply = ["vcc", "gnd"] }
V4 = { voltage_source = "3 V", pins = ["cell", "gnd"] }
R1 = { resistor = "100R", pins = ["cell", "b"] }
PS1 = { converter = "9 V", input = "b", out = "c", input_min = "2 V", efficiency = "85 %" }
R2 = { resistor = "1k", pins = ["c", "gnd"] }
U4 = { opamp = "amp", plus = "c", minus = "high", out = "o4", supply = ["vcc", "gnd"] }
)",
                                 amplifier);
    const Diagnostic d = refusal_of(stage);
    CHECK(d.subject == "PS1");
    CHECK(d.found.find("does not converge in") != std::string::npos);
    CHECK(d.advice.find("reduce its load") != std::string::npos);
}

TEST_CASE("an amplifier with less supply than its swings has a resting point", "[operating]") {
    // U3 needs 2.5 V for its swings. Its output divides what it has as 0.5 V and 2 V do: 0.8 v3
    // across 1 kohm, and the 4 kohm leave v3 = 9 / (1 + 4 x 0.8).
    const auto stage = on_supply(R"(
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
R1 = { resistor = "4k", pins = ["vcc", "v3"] }
U3 = { opamp = "hungry", plus = "gnd", minus = "out", out = "out", supply = ["v3", "gnd"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)",
                                 R"(
[opamp.hungry]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
swing_from_positive_rail = "0.5 V"
swing_from_negative_rail = "2 V"
)");
    CHECK_THAT(node_v(stage, "v3"), WithinAbs(9 / 4.2, 1e-9));
    CHECK_THAT(node_v(stage, "out"), WithinAbs(0.8 * 9 / 4.2, 1e-9));
}

TEST_CASE("direct voltages that do not settle are given up, in words", "[operating]") {
    const BoardReading reading =
        read_board(LOWHISS_TESTS_DIR "/museum/odd/no-resting-point.toml", disk_reader());
    REQUIRE(reading.board);
    try {
        operating_point(build_circuit(*reading.board, 0, nullptr));
        FAIL("a feed into outputs that have no supply");
    } catch (const Error& error) {
        CHECK(error.diagnostics().front().code == "no-operating-point");
        CHECK(error.diagnostics().front().found.find("does not converge in") != std::string::npos);
    }
}

TEST_CASE("a measured capsule carries direct current by its lowest resistance", "[operating]") {
    // 1 V through 1 kohm into the capsule's 200 ohm at its first frequency.
    const Board board = test::board_from_files(R"(
[parts]
V1 = { voltage_source = "1 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "in"] }
E1 = { voltage_gain = 3, control = ["in", "gnd"], pins = ["out", "gnd"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
capsule = "bridge"
[output]
plus = "out"
[capsule.bridge]
kind = "measured"
file = "bridge.csv"
)",
                                               {{"bridge.csv", "20,200,0\n20000,300,50\n"}});
    const Circuit circuit = build_circuit(board, 0, test::capsule_of(board));
    const OperatingPoint point = operating_point(circuit);
    CHECK_THAT(point.node_v(circuit.input_plus), test::CloseTo(200.0 / 1200, test::close));
    CHECK_THAT(point.node_v(circuit.output_plus), test::CloseTo(600.0 / 1200, test::close));
}

TEST_CASE("random networks of junctions obey their laws at every node", "[operating]") {
    for (unsigned seed = 1; seed <= 200; ++seed) {
        CAPTURE(seed);
        std::mt19937 draw(seed);
        const auto number = [&](int count) {
            return static_cast<int>(draw() % static_cast<unsigned>(count));
        };
        const int nodes = 3 + number(6);
        const auto node = [&](int k) {
            return k == 0 ? std::string("gnd") : "n" + std::to_string(k);
        };
        std::string parts = "V1 = { voltage_source = " + std::to_string(1 + number(50)) +
                            ".5, pins = [\"s\", \"gnd\"] }\n"
                            "R0 = { resistor = \"100R\", pins = [\"s\", \"n1\"] }\n";
        for (int k = 1; k < nodes; ++k) {
            parts += fmt::format("R{} = {{ resistor = {}, pins = [\"{}\", \"{}\"] }}\n", k,
                                 100 + number(100000), node(k), node(number(k)));
        }
        for (int k = 1; k <= 2 * nodes; ++k) {
            const int a = number(nodes);
            const int b = (a + 1 + number(nodes - 1)) % nodes;
            const bool zener = number(3) == 0;
            parts += fmt::format("D{} = {{ {}, anode = \"{}\", cathode = \"{}\" }}\n", k,
                                 zener ? "zener = \"" + std::to_string(3 + number(20)) + " V\""
                                       : std::string("diode = \"0.6 V\""),
                                 node(a), node(b));
        }
        parts += "R98 = { resistor = \"1k\", pins = [\"out\", \"n2\"] }\n";
        const Circuit circuit = build_circuit(test::board_of(on_supply(parts)), 0, nullptr);
        const OperatingPoint point = operating_point(circuit);
        std::vector<double> sum(circuit.nodes.size());
        std::vector<double> size(circuit.nodes.size());
        const auto flows = [&](int a, int b, double amperes) {
            sum[static_cast<std::size_t>(a)] += amperes;
            sum[static_cast<std::size_t>(b)] -= amperes;
            size[static_cast<std::size_t>(a)] += std::abs(amperes);
            size[static_cast<std::size_t>(b)] += std::abs(amperes);
        };
        for (const Element& element : circuit.elements) {
            if (const auto* r = std::get_if<Conductance>(&element.law)) {
                flows(r->a, r->b, r->siemens * (point.node_v(r->a) - point.node_v(r->b)));
            } else if (const auto* branch = std::get_if<Branch>(&element.law)) {
                flows(branch->a, branch->b, point.x[static_cast<std::size_t>(branch->current)]);
            } else if (const auto* d = std::get_if<Junction>(&element.law)) {
                flows(d->a, d->b, junction_current_a(*d, point.node_v(d->a) - point.node_v(d->b)));
            }
        }
        for (std::size_t k = 1; k < sum.size(); ++k) {
            // A nanovolt off is 4e-8 of a junction's current.
            CHECK_THAT(sum[k], WithinAbs(0, 1e-7 * size[k] + 1e-15));
        }
    }
}

}  // namespace lowhiss::direct_voltages_test
