// Non-inverting and inverting stages around A(s) = A0 / (1 + s A0 / (2 pi GBW)).

#include "lowhiss/measure/corner.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::opamp_stage_test {

using test::Z;

constexpr double a0 = 1e5;
constexpr double gain_bandwidth = 10e6;
constexpr double beta = 1.0 / 101;

const std::string model = "[opamp.ten]\nopen_loop_gain = 1e5\ngain_bandwidth = \"10 MHz\"\n";
const std::string feedback = R"(
RF = { resistor = "100k", pins = ["fb", "out"] }
U1 = { opamp = "ten", plus = "p", minus = "fb", out = "out" }
)";
const test::Stage non_inverting{.parts = feedback + R"(
RG = { resistor = "1k", pins = ["fb", "gnd"] }
SB = { link = "closed", pins = ["in", "p"] }
)",
                                .tables = model};
const test::Stage inverting{.parts = feedback + R"(
RG = { resistor = "1k", pins = ["in", "fb"] }
SB = { link = "closed", pins = ["p", "gnd"] }
)",
                            .tables = model};

Z open_loop(double frequency_hz) {
    return a0 / (1.0 + test::s_at(frequency_hz) * a0 / (2 * test::pi * gain_bandwidth));
}

TEST_CASE("the non-inverting stage is A / (1 + A beta)") {
    Network network = test::network_of(non_inverting);
    for (const double f_hz : {1e-3, 1.0, 100.0, 10e3, 1e6, 100e6}) {
        CAPTURE(f_hz);
        const Z a = open_loop(f_hz);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(a / (1.0 + a * beta), test::close));
    }
}

TEST_CASE("the inverting stage is -(1 - beta) A / (1 + A beta)") {
    Network network = test::network_of(inverting);
    for (const double f_hz : {1e-3, 1.0, 100.0, 10e3, 1e6, 100e6}) {
        CAPTURE(f_hz);
        const Z a = open_loop(f_hz);
        CHECK_THAT(network.respond(f_hz).gain,
                   test::CloseTo(-(1 - beta) * a / (1.0 + a * beta), test::close));
    }
}

TEST_CASE("the bandwidth of either is beta GBW + GBW / A0") {
    const double pole = beta * gain_bandwidth + gain_bandwidth / a0;
    // The corner counts from the gain at 1 kHz, where the pole has taken (1 kHz / pole)^2 already.
    const double corner = std::sqrt(pole * pole + 2 * 1000.0 * 1000.0);
    for (const test::Stage& stage : {non_inverting, inverting}) {
        Network network = test::network_of(stage);
        CHECK_THAT(corner_hz(network, network.respond(1000), Corner::high),
                   WithinRel(corner, 1e-9));
    }
}

TEST_CASE("the common-mode ratio of the op-amp adds v_cm / CMRR to what it amplifies") {
    // A follower: out = A (in - out + (in + out) / 2 / CMRR), CMRR = CMRR0 / (1 + s/wc).
    const test::Stage follower{.parts = R"(
U1 = { opamp = "part", plus = "in", minus = "out", out = "out" }
)",
                               .tables = R"(
[opamp.part]
open_loop_gain = 1e5
gain_bandwidth = "10 MHz"
cmrr = "60 dB"
cmrr_corner = "5 kHz"
)"};
    for (const double f_hz : {1.0, 5e3, 300e3}) {
        CAPTURE(f_hz);
        const Z a = open_loop(f_hz);
        const Z half = (1.0 + Z(0, f_hz / 5e3)) / 1000.0 / 2.0;
        CHECK_THAT(test::gain_of(follower, f_hz),
                   test::CloseTo(a * (1.0 + half) / (1.0 + a * (1.0 - half)), test::close));
    }
}

TEST_CASE("input impedances of the op-amp stand between its inputs and to ground") {
    // Between the inputs 100 kohm parallel 10 pF, bootstrapped by the loop; to ground 10 Mohm
    // parallel 3 pF. The minus input sits on the output of a follower, where it loads nothing.
    const test::Stage follower{.parts = R"(
R1 = { resistor = "1M", pins = ["in", "p"] }
U1 = { opamp = "part", plus = "p", minus = "out", out = "out" }
)",
                               .tables = R"(
[opamp.part]
open_loop_gain = 1e5
gain_bandwidth = "10 MHz"
input_resistance = "100k"
input_capacitance = "10p"
common_mode_resistance = "10M"
common_mode_capacitance = "3p"
)"};
    for (const double f_hz : {10.0, 10e3, 3e6}) {
        CAPTURE(f_hz);
        const Z s = test::s_at(f_hz);
        const Z closed = open_loop(f_hz) / (1.0 + open_loop(f_hz));
        const Z siemens = 1e-7 + s * 3e-12 + (1.0 - closed) * (1e-5 + s * 10e-12);
        CHECK_THAT(test::gain_of(follower, f_hz),
                   test::CloseTo(closed / (1.0 + 1e6 * siemens), 100 * test::close));
    }
}

}  // namespace lowhiss::opamp_stage_test
