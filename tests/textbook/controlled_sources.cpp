// The four controlled sources, with their signs, between a 600 ohm source and a 1 kohm load.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::controlled_sources_test {

// 600 ohm, R1 and R2 in series: node a stands at 800/1800 of the source, its Thevenin resistance is
// 1000 ohm parallel R2.
test::Stage stage(const std::string& source) {
    return {.parts = source + R"(
R1 = { resistor = "400R", pins = ["in", "a"] }
R2 = { resistor = "800R", pins = ["a", "gnd"] }
RL = { resistor = "1k", pins = ["out", "gnd"] }
)",
            .capsule = "kind = \"resistive\"\nresistance = \"600R\"\n"};
}

constexpr double control_v = 800.0 / 1800;  // at node a, of 1 V, no current drawn
constexpr double control_a = 1.0 / 1000;    // into a shorted node a

double gain_of(const std::string& source) {
    return test::gain_of(stage(source), 1000).real();
}

TEST_CASE("voltage_gain: v(p) - v(n) = gain * control, whatever the load") {
    CHECK_THAT(gain_of(R"(
E1 = { voltage_gain = 2.5, control = ["a", "gnd"], pins = ["out", "gnd"] }
)"),
               test::CloseTo(2.5 * control_v, test::close));
    CHECK_THAT(gain_of(R"(
E1 = { voltage_gain = 2.5, control = ["gnd", "a"], pins = ["out", "gnd"] }
)"),
               test::CloseTo(-2.5 * control_v, test::close));
}

TEST_CASE("transconductance: gain * control flows out of p, through the source, into n") {
    CHECK_THAT(gain_of(R"(
G1 = { transconductance = "3m", control = ["a", "gnd"], pins = ["gnd", "out"] }
)"),
               test::CloseTo(3e-3 * control_v * 1000, test::close));
    CHECK_THAT(gain_of(R"(
G1 = { transconductance = "3m", control = ["a", "gnd"], pins = ["out", "gnd"] }
)"),
               test::CloseTo(-3e-3 * control_v * 1000, test::close));
}

TEST_CASE("transresistance: its control is an exact short, its output ohm times the current") {
    CHECK_THAT(gain_of(R"(
H1 = { transresistance = "330R", control = ["a", "gnd"], pins = ["out", "gnd"] }
)"),
               test::CloseTo(330 * control_a, test::close));
}

TEST_CASE("current_gain: the current of a shorted control, times the gain, from p to n") {
    CHECK_THAT(gain_of(R"(
F1 = { current_gain = 12, control = ["a", "gnd"], pins = ["gnd", "out"] }
)"),
               test::CloseTo(12 * control_a * 1000, test::close));
    CHECK_THAT(gain_of(R"(
F1 = { current_gain = 12, control = ["gnd", "a"], pins = ["gnd", "out"] }
)"),
               test::CloseTo(-12 * control_a * 1000, test::close));
}

TEST_CASE("a gyrator of two transconductances turns a capacitor into a coil of C / gm^2") {
    Network network = test::network_of({.parts = R"(
G1 = { transconductance = "2m", control = ["in", "gnd"], pins = ["gnd", "out"] }
G2 = { transconductance = "2m", control = ["out", "gnd"], pins = ["in", "gnd"] }
C1 = { capacitor = "10n", pins = ["out", "gnd"] }
R1 = { resistor = "10k", pins = ["in", "gnd"] }
)"});
    for (const double f_hz : {20.0, 1e3, 1e6}) {
        CAPTURE(f_hz);
        const test::Z coil_ohm = test::s_at(f_hz) * 10e-9 / 4e-6;
        CHECK_THAT(network.respond(f_hz).input_impedance_ohm,
                   test::CloseTo(test::parallel(coil_ohm, 10e3), test::close));
    }
}

TEST_CASE("controlled sources and supplies do not hiss") {
    Network network = test::network_of(stage(R"(
E1 = { voltage_gain = 2.5, control = ["a", "gnd"], pins = ["out", "gnd"] }
V1 = { voltage_source = "9 V", pins = ["vcc", "gnd"] }
R9 = { resistor = "10k", pins = ["vcc", "out"] }
)"));
    const double source_ohm = 1000.0 * 800.0 / 1800.0;
    CHECK_THAT(test::output_noise_v2_hz(network, 1000),
               WithinRel(6.25 * test::thermal_v2_hz(source_ohm), test::close));
}

}  // namespace lowhiss::controlled_sources_test
