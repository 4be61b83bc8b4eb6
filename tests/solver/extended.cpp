// The extended path: against elimination in fifty digits, and circuits that take it or have no gain
// against hand formulas.

#include <array>
#include <cmath>
#include <numbers>

#include "lowhiss/promise/check.hpp"
#include "lowhiss/solver/extended.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/equations.hpp"
#include "support/random_board.hpp"
#include "support/stage.hpp"

namespace lowhiss::extended_test {

using test::Z;

/// Each unknown is rounded once; an unknown of 1e-40 of the largest is an exact zero in fifty
/// digits.
void check_rounded(const std::vector<Complex>& ours, const std::vector<test::Wide>& exact) {
    double largest = 0;
    for (const test::Wide& z : exact) largest = std::max(largest, test::size_of(z));
    REQUIRE(ours.size() == exact.size());
    for (std::size_t k = 0; k < ours.size(); ++k) {
        const test::Wide difference = exact[k] - test::Wide(ours[k].real(), ours[k].imag());
        CHECK(test::size_of(difference) <= 3e-16 * test::size_of(exact[k]) + 1e-30 * largest);
    }
}

TEST_CASE("the extended path rounds the solutions of random circuits once") {
    int solved = 0;
    for (unsigned seed = 1; seed <= 150; ++seed) {
        CAPTURE(seed);
        test::RandomBoard random(seed);
        const Network network = test::network_of(random.stage());
        const double f_hz = random.frequency_hz();
        const test::Equations equations(network, f_hz);
        ExtendedSolver solver(network.pencil());
        std::vector<test::Wide> x;
        std::vector<test::Wide> y;
        try {
            x = test::solve_wide(equations.a, test::widened(equations.b));
            y = test::solve_wide(test::transposed(equations.a), test::widened(equations.c));
        } catch (const std::domain_error&) {
            CHECK_THROWS_AS(solver.factorise(f_hz), Singular);
            continue;
        }
        solver.factorise(f_hz);
        check_rounded(solver.solve(equations.b), x);
        check_rounded(solver.solve_transposed(equations.c), y);
        ++solved;
    }
    CHECK(solved > 100);
}

/// A source between `in` and `low`; the output is against ground.
Network with_floating_source(const std::string& parts) {
    return test::network_from_text("[board]\n[parts]\n" + parts +
                                   "\n[input]\nplus = \"in\"\nminus = \"low\"\n"
                                   "[output]\nplus = \"out\"\n");
}

TEST_CASE("a floating source tied by 494 Mohm gives its divided voltage") {
    Network network = with_floating_source(R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "3k", pins = ["out", "low"] }
R3 = { resistor = "494M", pins = ["low", "gnd"] }
)");
    // No current flows through R3, so that node low is at 0 V.
    CHECK_THAT(network.respond(1000).gain, test::CloseTo(0.75, 1e-9));
}

TEST_CASE("a milliohm between nodes on picofarads takes extended precision") {
    Network network = test::network_of({.parts = R"(
C1 = { capacitor = "1p", pins = ["in", "a"] }
R1 = { resistor = "0.001", pins = ["a", "out"] }
R2 = { resistor = "0.001", pins = ["a", "out"] }
C2 = { capacitor = "3p", pins = ["out", "gnd"] }
)"});
    const Z s = test::s_at(1);
    const Z below = 1.0 / (s * 3e-12);
    const Z expected = below / (below + 0.0005 + 1.0 / (s * 1e-12));
    CHECK_THAT(network.respond(1).gain, test::CloseTo(expected, 1e-9));
}

/// Two equal RC low passes, the output between their ends: the gain is zero, and the noise that of
/// both in series, 4kT 2R / (1 + (omega R C)^2).
const test::Stage bridge{.parts = R"(
R1 = { resistor = "10k", pins = ["in", "out"] }
C1 = { capacitor = "10n", pins = ["out", "gnd"] }
R2 = { resistor = "10k", pins = ["in", "other"] }
C2 = { capacitor = "10n", pins = ["other", "gnd"] }
)",
                         .capsule = "kind = \"resistive\"\nresistance = \"200R\"\n",
                         .output = "minus = \"other\"\n"};

TEST_CASE("a balanced RC bridge has no gain, but noise") {
    Network network = test::network_of(bridge);
    for (const double f_hz : {1.0, 1e3, 20e3, 1e6}) {
        CAPTURE(f_hz);
        const Response r = network.respond(f_hz);
        CHECK(r.gain == 0.0);
        const double turn = 2 * test::pi * f_hz * 10e3 * 10e-9;
        CHECK_THAT(test::output_noise_v2_hz(network, f_hz),
                   WithinRel(test::thermal_v2_hz(2 * 10e3 / (1 + turn * turn)), test::close));
    }
    const Measures m = test::measures_of(bridge);
    for (const double figure :
         {m.gain_1khz_db, m.gain_20hz_db, m.gain_20khz_db, m.gain_from_terminals_1khz_db,
          m.low_corner_hz, m.high_corner_hz, m.ein_v, m.ein_dbu, m.ein_a_dbu, m.ein_468_dbu,
          m.noise_figure_db, m.capsule_effect_1khz_db}) {
        CHECK(std::isnan(figure));
    }
    // kT/C of both capacitors, of which the band from 20 Hz to 20 kHz has the angle between.
    const double rc = 2 * test::pi * 10e3 * 10e-9;
    const double part = (std::atan(rc * 20e3) - std::atan(rc * 20)) / (test::pi / 2);
    const double kt_c = test::boltzmann_j_k * 293.15 / 10e-9;
    CHECK_THAT(m.output_noise_v, WithinRel(std::sqrt(2 * kt_c * part), 1e-6));
    CHECK(std::isfinite(m.input_impedance_1khz_ohm));
}

TEST_CASE("a bridge balanced by other resistors than equal ones has no gain either") {
    // 1k : 2k = 10k : 20k; of these conductances the doubles are not in the same ratio.
    for (const auto& [a, b, c, d] :
         {std::array{"1k", "2k", "10k", "20k"}, std::array{"3k3", "4k7", "33k", "47k"}}) {
        CAPTURE(a);
        Network network = test::network_of({.parts = fmt::format(R"(
R1 = {{ resistor = "{}", pins = ["in", "out"] }}
R2 = {{ resistor = "{}", pins = ["out", "gnd"] }}
R3 = {{ resistor = "{}", pins = ["in", "other"] }}
R4 = {{ resistor = "{}", pins = ["other", "gnd"] }}
)",
                                                                 a, b, c, d),
                                            .output = "minus = \"other\"\n"});
        CHECK(network.respond(1000).gain == 0.0);
    }
    // A hundred-millionth off balance is a signal: 1/2 - 1/(2 + 1e-8) = 2.5e-9.
    Network near = test::network_of({.parts = R"(
R1 = { resistor = "10k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
R3 = { resistor = "10000.0001", pins = ["in", "other"] }
R4 = { resistor = "10k", pins = ["other", "gnd"] }
)",
                                     .output = "minus = \"other\"\n"});
    // The values themselves are rounded to 1e-16, which is 4e-8 of the difference.
    CHECK_THAT(near.respond(1000).gain, test::CloseTo(0.5 - 1 / (2 + 1e-8), 1e-7));
}

TEST_CASE("six equal resistors with the output in the middle of a balanced input have no gain") {
    Network network = test::network_from_text(R"(
[parts]
R1 = { resistor = "10k", pins = ["p", "out"] }
R2 = { resistor = "10k", pins = ["m", "out"] }
R3 = { resistor = "10k", pins = ["p", "gnd"] }
R4 = { resistor = "10k", pins = ["m", "gnd"] }
R5 = { resistor = "10k", pins = ["p", "m"] }
R6 = { resistor = "10k", pins = ["out", "gnd"] }
[input]
plus = "p"
minus = "m"
[output]
plus = "out"
)");
    CHECK(network.respond(1000).gain == 0.0);
}

TEST_CASE("a part whose noise does not reach the output has none that is told") {
    // R5 lies across the diagonal of a bridge of equal resistors: its noise moves the ends of the
    // diagonal oppositely, and the output is connected to both by equal resistors.
    const test::Stage stage{.parts = R"(
R1 = { resistor = "10k", pins = ["in", "a"] }
R2 = { resistor = "10k", pins = ["a", "gnd"] }
R3 = { resistor = "10k", pins = ["in", "b"] }
R4 = { resistor = "10k", pins = ["b", "gnd"] }
R5 = { resistor = "4k7", pins = ["a", "b"] }
R6 = { resistor = "22k", pins = ["a", "out"] }
R7 = { resistor = "22k", pins = ["b", "out"] }
)"};
    const KnobResult result = test::solve(test::board_of(stage));
    double sum = 0;
    for (const NoiseShare& share : result.noise_by_part) {
        CAPTURE(share.part, share.share);
        CHECK(std::isnan(share.share) == (share.part == "R5"));
        if (share.part != "R5") sum += share.share;
    }
    CHECK(result.noise_by_part.back().part == "R5");
    CHECK_THAT(sum, WithinAbs(1, 1e-6));
}

const std::string divider_and_tank = R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
L1 = { inductor = "10m", pins = ["tank", "gnd"] }
C1 = { capacitor = "100n", pins = ["tank", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "flat"
measure = "flatness"
from = "20 Hz"
to = "20 kHz"
max = "0.1 dB"
)";

TEST_CASE("an isolated tank without losses hinders neither a sweep nor a limit over a band") {
    const Board board = test::board_from_text(divider_and_tank);
    // Resonance at 5.03 kHz.
    const double f_hz = 1 / (2 * test::pi * std::sqrt(10e-3 * 100e-9));
    Network network = test::network_of(board);
    for (const double beside : {1 - 1e-15, 1.0, 1 + 1e-15}) {
        CHECK_THAT(network.respond(f_hz * beside).gain, test::CloseTo(0.5, test::close));
    }
    const CheckRequest request{&board, board.limits};
    const std::vector<Verdict> verdicts = check_board(request).verdicts;
    REQUIRE(verdicts.size() == 1);
    CAPTURE(verdicts[0].reason);
    CHECK(verdicts[0].outcome == Outcome::pass);
    CHECK_THAT(verdicts[0].value, WithinAbs(0, 1e-9));
}

TEST_CASE("a tank that resonates exactly at a frequency is refused there, by name") {
    // 1 H and 1 F; 2 pi times this frequency is 1 in doubles.
    constexpr double f_hz = 0.15915494309189535;
    REQUIRE(2 * std::numbers::pi * f_hz == 1.0);
    Network network = test::network_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
L1 = { inductor = "1 H", pins = ["tank", "gnd"] }
C1 = { capacitor = "1 F", pins = ["tank", "gnd"] }
)"});
    CHECK_THAT(network.respond(f_hz * (1 + 1e-15)).gain, test::CloseTo(0.5, test::close));
    try {
        network.respond(f_hz);
        FAIL("an exact resonance");
    } catch (const Error& error) {
        CAPTURE(error.diagnostics().at(0).found);
        CHECK(error.diagnostics().at(0).found.find("do not determine") != std::string::npos);
        const std::string subject = error.diagnostics().at(0).subject;
        const bool names = subject == "L1" || subject == "C1" ||
                           error.diagnostics().at(0).found.find("'tank'") != std::string::npos;
        CHECK(names);
    }
}

TEST_CASE("more than 200 unknowns are solved in extended precision too") {
    // A ladder at 1 Hz whose sections are joined by milliohms and have picofarads to ground,
    // against the recursion of impedances from its end.
    std::string parts = "R0 = { resistor = \"1k\", pins = [\"in\", \"n0\"] }\n";
    constexpr int sections = 80;
    Z below = 1.0 / (test::s_at(1) * 2e-12);
    Z gain = 1;
    for (int k = sections; k >= 1; --k) {
        const Z behind = 0.001 + below;
        gain *= below / behind;
        below = test::parallel(behind, 1.0 / (test::s_at(1) * 2e-12));
    }
    gain *= below / (1000.0 + below);
    for (int k = 0; k <= sections; ++k) {
        const std::string node = k == sections ? "out" : fmt::format("n{}", k);
        parts += fmt::format("C{} = {{ capacitor = \"2p\", pins = [\"{}\", \"gnd\"] }}\n", k, node);
        if (k > 0) {
            parts += fmt::format("R{} = {{ resistor = \"0.001\", pins = [\"n{}\", \"{}\"] }}\n", k,
                                 k - 1, node);
        }
    }
    const Network network = test::network_of({.parts = parts});
    REQUIRE(network.pencil().size > 200);
    const test::Equations equations(network, 1);
    ExtendedSolver solver(network.pencil());
    solver.factorise(1);
    const auto transfer = solver.transfer(equations.b, equations.c);
    CHECK_THAT(transfer.gain, test::CloseTo(gain, test::close));
    CHECK(transfer.bound < 1e-12);
}

}  // namespace lowhiss::extended_test
