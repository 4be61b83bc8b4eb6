// Return ratios and margins of loops about transistors against hand calculation by hybrid-pi
// circuits, a textbook's oscillator and the natural frequencies.

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <map>

#include "lowhiss/analysis/loop_gain.hpp"
#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/measure/supply.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::transistor_loops_test {

using test::pi;

constexpr double gain_b = 200;
constexpr double thermal_v = test::boltzmann_j_k * 293.15 / 1.602176634e-19;

std::string models(const std::string& more = "") {
    std::string text;
    for (const char* polarity : {"npn", "pnp"}) {
        text += fmt::format(
            "[bipolar.{0}]\npolarity = \"{0}\"\ncurrent_gain = {1}\n"
            "base_emitter_voltage = \"0.65 V\"\n{2}\n",
            polarity, gain_b, more);
    }
    return text;
}

Stability stability_of(const Board& board) {
    Setting setting(board, nullptr, 0);
    return setting.stability();
}

const LoopMargins* loop_about(const Stability& stability, const std::string& part) {
    for (std::size_t k = 0; k < stability.loops.size(); ++k) {
        if (stability.loop_parts[k] == part) return &stability.loops[k];
    }
    return nullptr;
}

/// A complementary pair with series feedback: npn, its collector on the base of a pnp, whose
/// collector goes back to the npn's emitter.
std::string pair_parts(const std::string& more = "") {
    return R"(
V1 = { voltage_source = "15 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "-15 V", pins = ["vee", "gnd"] }
R1 = { resistor = "1k3", pins = ["vcc", "c1"] }
R2 = { resistor = "27k", pins = ["e1", "vee"] }
R3 = { resistor = "220R", pins = ["e1", "low"] }
C1 = { capacitor = "50m", pins = ["low", "gnd"] }
R4 = { resistor = "2k2", pins = ["out", "e1"] }
R5 = { resistor = "10k", pins = ["out", "vee"] }
Q1 = { bipolar = "npn", collector = "c1", base = "in", emitter = "e1" }
Q2 = { bipolar = "pnp", collector = "out", base = "c1", emitter = "vcc" }
)" + more;
}

double both(double a, double b) {
    return a * b / (a + b);
}

/// Transconductances at rest by I_C / V_T.
std::map<std::string, double> transconductances(const Board& board) {
    std::map<std::string, double> gm;
    for (const TransistorState& t : supply_state(board, 0, nullptr).transistors) {
        CHECK(t.region == TransistorRegion::active);
        gm[t.part] = std::abs(t.amperes) / thermal_v;
    }
    return gm;
}

TEST_CASE("return ratios of a feedback pair are those of its hybrid-pi circuit", "[stability]") {
    // Return ratio: the source's current is replaced by one of gm x 1 V, and the ratio is minus the
    // voltage from base to emitter that results (Bode 1945, chapter 4; Gray and Meyer, "Analysis
    // and Design of Analog Integrated Circuits", on return ratios of transistor circuits; from
    // memory). Hand calculation: no Early effect, no capacitance.
    const Board board = test::board_of({.parts = pair_parts(), .tables = models()});
    const std::map<std::string, double> gm = transconductances(board);
    const double r_pi1 = gain_b / gm.at("Q1");
    const double r_pi2 = gain_b / gm.at("Q2");
    const double at_base2 = both(1300, r_pi2);
    const double at_emitter = both(27e3, 220);
    const double load = 10e3;
    const double back = 2200;

    // About Q2: its current divides between the load and the way back, and into the emitter of Q1,
    // which has 1 / gm (1 + 1 / beta) there.
    const double into_e1 = both(at_emitter, 1 / (gm.at("Q1") * (1 + 1 / gain_b)));
    const double returned = load / (load + back + into_e1) * into_e1;
    const double t2 = gm.at("Q2") * returned * gm.at("Q1") * at_base2;

    // About Q1: the same way round, where its own transconductance does not load the emitter, and
    // its current at the emitter itself.
    const double bare = both(at_emitter, r_pi1);
    const double local = both(bare, back + load);
    const double t1 =
        gm.at("Q1") * (local + at_base2 * gm.at("Q2") * load / (load + back + bare) * bare);

    Network network(small_signal_circuit(board, 0, nullptr));
    std::map<std::string, Complex> t;
    for (const LoopSource& source : loop_sources(network.circuit())) {
        const auto part = static_cast<std::size_t>(source.part);
        t[network.circuit().parts[part].name] = return_ratio(network, source, 1000);
    }
    REQUIRE(t.size() == 2);
    // C1 has 3 mohm beside 220 ohm; the saturation current is 1e-11 of the collector current.
    CHECK_THAT(t.at("Q1"), test::CloseTo(Complex(t1), 2e-5));
    CHECK_THAT(t.at("Q2"), test::CloseTo(Complex(t2), 2e-5));
    // Blackman's check: both have the same determinant, over that with one source dead.
    CHECK(t1 > t2);
}

TEST_CASE("the pair's margins are gone where a pole reaches the axis", "[stability]") {
    // Capacitance at the collector of Q1 and a lag in the way back make three poles. As C3 grows
    // the pair oscillates from some value on.
    const auto with = [](double farad) {
        const std::string lag = fmt::format(
            "C2 = {{ capacitor = \"100p\", pins = [\"c1\", \"gnd\"] }}\n"
            "C3 = {{ capacitor = {:.17g}, pins = [\"out\", \"gnd\"] }}\n"
            "C4 = {{ capacitor = \"1n\", pins = [\"e1\", \"gnd\"] }}\n",
            farad);
        return stability_of(
            test::board_of({.parts = pair_parts(lag),
                            .tables = models("transition_frequency = \"300 MHz\"\n"
                                             "transition_current = \"1 mA\"\n"
                                             "collector_base_capacitance = \"2p\"\n")}));
    };
    double stable = 1e-13;
    double unstable = 1e-10;
    REQUIRE(with(stable).stable);
    REQUIRE_FALSE(with(unstable).stable);
    for (int k = 0; k < 40; ++k) {
        const double middle = std::sqrt(stable * unstable);
        (with(middle).stable ? stable : unstable) = middle;
    }
    const Stability before = with(stable * (1 - 1e-6));
    const Stability after = with(stable * (1 + 1e-6));
    REQUIRE(before.stable);
    REQUIRE_FALSE(after.stable);
    for (const char* part : {"Q1", "Q2"}) {
        CAPTURE(part);
        const LoopMargins* last = loop_about(before, part);
        const LoopMargins* first = loop_about(after, part);
        REQUIRE(last);
        REQUIRE(first);
        // A millionth of C3 is some 1e-4 degrees.
        CHECK(last->phase_margin_deg > 0);
        CHECK_THAT(last->phase_margin_deg, WithinAbs(0, 1e-3));
        CHECK_THAT(first->phase_margin_deg, WithinAbs(0, 1e-3));
        CHECK(first->phase_margin_deg < 0);
        CHECK_THAT(last->gain_margin_db, WithinAbs(0, 1e-3));
        CHECK_THAT(last->crossover_hz, WithinRel(after.grows_hz, 1e-4));
    }
    // A margin on the way is between 0 and what it was without C3, by either transistor.
    for (const double share : {0.1, 0.3, 0.9}) {
        const Stability between = with(share * stable);
        REQUIRE(between.worst_loop());
        CHECK(between.stable);
        CHECK(between.worst_loop()->phase_margin_deg > 0);
    }
}

TEST_CASE("a phase-shift oscillator needs a gain of 29", "[stability]") {
    // Three equal sections C-R after an ideal buffer: 1/29 of the voltage, turned by 180 degrees,
    // at 1 / (2 pi sqrt(6) R C) (Boylestad and Nashelsky, "Electronic Devices and Circuit Theory",
    // on the phase-shift oscillator; from memory). gm of the JFET at V_GS = -1 V: 2 (4 mA / (2
    // V)^2) (2 V - 1 V) = 2 mS.
    for (const double drain_ohm : {5e3, 14.4e3, 14.6e3, 29e3}) {
        CAPTURE(drain_ohm);
        const test::Stage stage{.parts = fmt::format(R"(
V1 = {{ voltage_source = {:.17g}, pins = ["vdd", "gnd"] }}
V2 = {{ voltage_source = "1 V", pins = ["s", "gnd"] }}
R1 = {{ resistor = {:.17g}, pins = ["vdd", "d"] }}
E1 = {{ voltage_gain = 1, control = ["d", "gnd"], pins = ["out", "gnd"] }}
C1 = {{ capacitor = "1n", pins = ["out", "a"] }}
R2 = {{ resistor = "10k", pins = ["a", "gnd"] }}
C2 = {{ capacitor = "1n", pins = ["a", "b"] }}
R3 = {{ resistor = "10k", pins = ["b", "gnd"] }}
C3 = {{ capacitor = "1n", pins = ["b", "g"] }}
R4 = {{ resistor = "10k", pins = ["g", "gnd"] }}
R9 = {{ resistor = "1k", pins = ["in", "gnd"] }}
J1 = {{ jfet = "j", drain = "d", gate = "g", source = "s" }}
)",
                                                     10 + 1e-3 * drain_ohm, drain_ohm),
                                .tables =
                                    "[jfet.j]\npolarity = \"n\"\nsaturation_current = \"4 mA\"\n"
                                    "pinch_off_voltage = \"2 V\"\n"};
        const Stability stability = stability_of(test::board_of(stage));
        const double gain = 2e-3 * drain_ohm;
        CHECK(stability.stable == (gain < 29));
        const LoopMargins* loop = loop_about(stability, "J1");
        REQUIRE(loop);
        CHECK_THAT(loop->gain_margin_db, WithinAbs(20 * std::log10(29 / gain), 1e-6));
        CHECK_THAT(loop->phase_crossover_hz,
                   WithinRel(1 / (2 * pi * std::sqrt(6) * 10e3 * 1e-9), 1e-8));
        if (std::isfinite(loop->phase_margin_deg)) {
            CHECK((loop->phase_margin_deg > 0) == (gain < 29));
        }
    }
}

TEST_CASE("an emitter follower on a cable has the margin of its two poles", "[stability]") {
    // T = gm Zpi / (Zpi + Rs) / (Y + 1 / (Zpi + Rs)), Zpi being r_pi beside C_pi, Y what is at the
    // emitter, by the hybrid-pi circuit; crossings by halving over 0.1 Hz to 3 GHz.
    const double source_ohm = 4.7e3;
    const double farad = 1e-9;
    const Board board = test::board_of({.parts = fmt::format(R"(
V1 = {{ voltage_source = "9 V", pins = ["vcc", "gnd"] }}
V2 = {{ voltage_source = "-9 V", pins = ["vee", "gnd"] }}
R1 = {{ resistor = {}, pins = ["in", "b"] }}
R2 = {{ resistor = "4k7", pins = ["out", "vee"] }}
C1 = {{ capacitor = {}, pins = ["out", "gnd"] }}
Q1 = {{ bipolar = "npn", collector = "vcc", base = "b", emitter = "out" }}
)",
                                                             source_ohm, farad),
                                        .tables = models("base_emitter_capacitance = \"30p\"\n")});
    const double gm = transconductances(board).at("Q1");
    const auto t = [&](double f_hz) {
        const Complex s(0, 2 * pi * f_hz);
        const Complex z_pi = 1.0 / (gm / gain_b + s * 30e-12);
        const Complex at_emitter = 1.0 / (1 / 4.7e3 + s * farad + 1.0 / (z_pi + source_ohm));
        return gm * at_emitter * z_pi / (z_pi + source_ohm);
    };
    double low = 0.1;
    double high = 3e9;
    for (int k = 0; k < 100; ++k) {
        const double middle = std::sqrt(low * high);
        (std::abs(t(middle)) > 1 ? low : high) = middle;
    }
    const double margin_deg = 180 - std::abs(std::arg(t(low))) * 180 / pi;
    CHECK(margin_deg < 60);  // so small that the test means something
    const Stability stability = stability_of(board);
    const LoopMargins* loop = stability.worst_loop();
    REQUIRE(loop);
    CHECK_THAT(loop->crossover_hz, WithinRel(low, 1e-6));
    CHECK_THAT(loop->phase_margin_deg, WithinAbs(margin_deg, 1e-4));
}

TEST_CASE("a pair ahead of an op-amp shares its loop", "[stability]") {
    // A long-tailed pair, each emitter through 100 ohm, the op-amp on the collectors, feedback to a
    // base. The way round through the pair is seen by the op-amp and by both transistors; at the
    // edge of oscillation none has a margin.
    const auto with = [](double gain_bandwidth_hz) {
        return stability_of(
            test::board_of({.parts = R"(
V1 = { voltage_source = "15 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "-15 V", pins = ["vee", "gnd"] }
I1 = { current_source = "2 mA", from = "tail", into = "vee" }
R1 = { resistor = "100R", pins = ["e1", "tail"] }
R2 = { resistor = "100R", pins = ["e2", "tail"] }
R3 = { resistor = "4k7", pins = ["vcc", "c1"] }
R4 = { resistor = "4k7", pins = ["vcc", "c2"] }
Q1 = { bipolar = "npn", collector = "c1", base = "in", emitter = "e1" }
Q2 = { bipolar = "npn", collector = "c2", base = "fb", emitter = "e2" }
U1 = { opamp = "amp", plus = "c2", minus = "c1", out = "out" }
R5 = { resistor = "1k", pins = ["out", "fb"] }
R6 = { resistor = "100R", pins = ["fb", "gnd"] }
)",
                            .tables = models("transition_frequency = \"300 MHz\"\n"
                                             "transition_current = \"1 mA\"\n"
                                             "collector_base_capacitance = "
                                             "\"2p\"\n") +
                                      fmt::format("[opamp.amp]\nopen_loop_gain = \"120 dB\"\n"
                                                  "gain_bandwidth = {:.17g}\n"
                                                  "second_pole = \"20 MHz\"\n",
                                                  gain_bandwidth_hz)}));
    };
    double stable = 1e4;
    double unstable = 1e9;
    REQUIRE(with(stable).stable);
    REQUIRE_FALSE(with(unstable).stable);
    for (int k = 0; k < 40; ++k) {
        const double middle = std::sqrt(stable * unstable);
        (with(middle).stable ? stable : unstable) = middle;
    }
    const Stability edge = with(stable * (1 - 1e-7));
    REQUIRE(edge.stable);
    for (const char* part : {"U1", "Q1", "Q2"}) {
        CAPTURE(part);
        const LoopMargins* loop = loop_about(edge, part);
        REQUIRE(loop);
        CHECK_THAT(std::fmin(loop->phase_margin_deg, std::abs(loop->gain_margin_db)),
                   WithinAbs(0, 1e-3));
    }
}

TEST_CASE("a transistor without feedback or cut off has no loop", "[stability]") {
    const auto at =
        [](const std::string& emitter_v) {
            return test::board_of({.parts = R"(
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
R1 = { resistor = "1k", pins = ["vcc", "out"] }
Q1 = { bipolar = "npn", collector = "out", base = "in", emitter = "e" }
V2 = { voltage_source = ")" + emitter_v + "\", pins = [\"e\", \"gnd\"] }\n",
                                   .tables = models()});
        };
    for (const char* emitter_v : {"-0.6 V", "2 V"}) {
        const Board board = at(emitter_v);
        CHECK(stability_of(board).loops.empty());
        Setting setting(board, nullptr, 0);
        CHECK(std::isnan(find_measure("phase_margin")->at_setting(setting, {}).value));
    }
}

}  // namespace lowhiss::transistor_loops_test
