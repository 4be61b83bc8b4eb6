// The backward error that a solver reports, computed again in fifty digits.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/equations.hpp"
#include "support/stage.hpp"

namespace lowhiss::backward_error_test {

// No node of these is without signal, so that no unknown is an exact zero, and each is solved far
// outside the frequencies that its plan was made at.
const test::Stage stages[] = {
    {.parts = R"(
R1 = { resistor = "4k7", pins = ["in", "out"] }
C1 = { capacitor = "33n", pins = ["out", "gnd"] }
)"},
    {.parts = R"(
C1 = { capacitor = "22p", pins = ["in", "out"], series_resistance = "0R1" }
R1 = { resistor = "10M", pins = ["out", "gnd"] }
)"},
    {.parts = R"(
L1 = { inductor = "470u", pins = ["in", "a"], series_resistance = "4R7", parallel_capacitance = "12p" }
C1 = { capacitor = "1u", pins = ["a", "gnd"], series_resistance = "0R05", leakage_resistance = "100M" }
T1 = { transformer = { ratio = 10, primary_inductance = "8", coupling = 0.999, primary_resistance = "40R", secondary_resistance = "900R" }, primary = ["a", "gnd"], secondary = ["out", "gnd"] }
R1 = { resistor = "100k", pins = ["out", "gnd"] }
)",
     .capsule = "kind = \"condenser\"\ncapacitance = \"60p\"\n"},
    {.parts = R"(
C1 = { capacitor = "10u", pins = ["in", "p"] }
R1 = { resistor = "10k", pins = ["p", "gnd"] }
U1 = { opamp = "part", plus = "p", minus = "fb", out = "a" }
R2 = { resistor = "10k", pins = ["fb", "a"] }
C2 = { capacitor = "47p", pins = ["fb", "a"] }
R3 = { resistor = "33R", pins = ["fb", "leg"] }
C3 = { capacitor = "470u", pins = ["leg", "gnd"] }
R4 = { resistor = "47R", pins = ["a", "out"] }
)",
     .capsule = "kind = \"dynamic\"\ncoil_resistance = \"180R\"\ncoil_inductance = \"500u\"\n",
     .output = R"(cable = "1n")",
     .tables = R"(
[opamp.part]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
second_pole = "15 MHz"
input_resistance = "300k"
common_mode_capacitance = "3p"
cmrr = "100 dB"
output_resistance = "50R"
)"},
};

TEST_CASE("solutions and adjoint solutions have the backward error that is promised") {
    for (const test::Stage& stage : stages) {
        Network network = test::network_of(stage);
        ReferenceSolver reference(network.pencil());
        for (int k = -3; k <= 9; ++k) {
            const double f_hz = 1.7 * std::pow(10.0, k);
            CAPTURE(stage.parts, f_hz);
            const Solution solution = network.solve(f_hz);
            const test::Equations equations(network, f_hz);
            const auto& a = equations.a;
            CHECK(test::strict_backward_error(a, equations.b, solution.x) < largest_backward_error);
            CHECK(test::strict_backward_error(test::transposed(a), equations.c, solution.y) <
                  largest_backward_error);
            reference.factorise(f_hz);
            CHECK(test::strict_backward_error(a, equations.b, reference.solve(equations.b)) <
                  largest_backward_error);
            CHECK(test::strict_backward_error(test::transposed(a), equations.c,
                                              reference.solve_transposed(equations.c)) <
                  largest_backward_error);
        }
        CHECK(network.account().worst_backward_error <= largest_backward_error);
    }
}

TEST_CASE("a part that the signal does not reach does not stand in the way of a solution") {
    // Nothing drives the nodes x and y: their voltages are zero but for rounding.
    Network network = test::network_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "3k", pins = ["out", "gnd"] }
R3 = { resistor = "1k", pins = ["out", "y"] }
R4 = { resistor = "3k", pins = ["in", "x"] }
R5 = { resistor = "1k", pins = ["y", "gnd"] }
R6 = { resistor = "1k", pins = ["x", "gnd"] }
U1 = { opamp = "part", plus = "gnd", minus = "m", out = "o" }
R7 = { resistor = "1k", pins = ["m", "o"] }
C7 = { capacitor = "1n", pins = ["m", "o"] }
)",
                                        .tables = "[opamp.part]\nopen_loop_gain = 1e5\n"
                                                  "gain_bandwidth = 1e7\n"});
    const double lower = 3000.0 * 2000.0 / 5000.0;
    CHECK_THAT(network.respond(1000).gain, test::Within(lower / (1000 + lower), 1e-14));
}

}  // namespace lowhiss::backward_error_test
