// Plans: large ones, and one plan for many circuits.

#include "lowhiss/solver/plan.hpp"

#include <fmt/format.h>

#include "lowhiss/measure/plans.hpp"
#include "lowhiss/series/random_board.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/demo_board.hpp"
#include "support/stage.hpp"

namespace lowhiss::plan_test {

/// Resistors of a square mesh with a capacitor at each node, corner to corner.
Network mesh(int side) {
    std::string parts;
    const auto node = [&](int row, int column) {
        if (row == 0 && column == 0) return std::string("in");
        if (row == side - 1 && column == side - 1) return std::string("out");
        return fmt::format("n{}_{}", row, column);
    };
    const auto part = [&](char letter, const char* value, int row, int column,
                          const std::string& to) {
        parts += fmt::format("{0}{1}_{2} = {{ {3}, pins = [\"{4}\", \"{5}\"] }}\n", letter, row,
                             column, value, node(row, column), to);
    };
    for (int row = 0; row < side; ++row) {
        for (int column = 0; column < side; ++column) {
            part('C', "capacitor = \"1n\"", row, column, "gnd");
            if (column + 1 < side) {
                part('H', "resistor = \"2k2\"", row, column, node(row, column + 1));
            }
            if (row + 1 < side) {
                part('V', "resistor = \"3k3\"", row, column, node(row + 1, column));
            }
        }
    }
    return test::network_of({.parts = parts});
}

TEST_CASE("a mesh of 400 nodes has a plan, and is solved as the reference path solves it") {
    Network network = mesh(20);
    REQUIRE(network.plan()->program);
    // Every capacitor's charge goes first, for all frequencies together.
    CHECK(network.plan()->program->once_steps() >= 400);
    ReferenceSolver reference(network.pencil());
    std::vector<Complex> b(static_cast<std::size_t>(network.pencil().size));
    b[static_cast<std::size_t>(network.circuit().emf_current)] = 1;
    const auto out = static_cast<std::size_t>(network.circuit().output_plus) - 1;
    for (const double f_hz : {1.0, 100.0, 1e4}) {
        CAPTURE(f_hz);
        reference.factorise(f_hz);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(reference.solve(b)[out], 1e-11));
    }
    CHECK(network.account().fallbacks == 0);
}

TEST_CASE("the plan of a drawn board serves every board of its series, at every knob position") {
    for (const std::string name : {"heron-c", "curlew", "wren"}) {
        const Board board = test::demo_board(name);
        const Capsule* capsule = test::capsule_of(board);
        const Plans plans = make_plans(board, capsule);
        for (std::uint64_t index = 0; index < 10; ++index) {
            const Board drawn = random_board(board, {}, index);
            for (const double rotation : board.knob->positions) {
                CAPTURE(name, index, rotation);
                Network shared(build_circuit(drawn, rotation, capsule), plans.real);
                CHECK(shared.plan() == plans.real);
                Network own(build_circuit(drawn, rotation, capsule));
                CHECK_THAT(shared.respond(1234).gain, test::CloseTo(own.respond(1234).gain, 1e-11));
                CHECK(shared.account().fallbacks == 0);
            }
        }
    }
}

TEST_CASE("a plan of another structure is not used") {
    const test::Stage resistors{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "3k", pins = ["out", "gnd"] }
)"};
    const test::Stage more{.parts = R"(
R1 = { resistor = "1k", pins = ["in", "a"] }
R2 = { resistor = "1k", pins = ["a", "out"] }
R3 = { resistor = "2k", pins = ["out", "gnd"] }
)"};
    const Network first = test::network_of(resistors);
    Network other(build_circuit(test::board_of(more), 0, nullptr), first.plan());
    CHECK(other.plan() != first.plan());
    CHECK_THAT(other.respond(1000).gain, test::CloseTo(0.5, test::close));
    // No pencil and no plan: the reference path.
    const Pencil& pencil = other.pencil();
    Solver solver(first.plan(), pencil);
    std::vector<Complex> b(static_cast<std::size_t>(pencil.size));
    b[static_cast<std::size_t>(other.circuit().emf_current)] = 1;
    const auto out = static_cast<std::size_t>(other.circuit().output_plus) - 1;
    CHECK_THAT(solver.solve_at(1000, b, b).x[out], test::CloseTo(0.5, test::close));
    CHECK(solver.account().fallbacks == 1);
}

TEST_CASE("a resistive divider is eliminated once for all frequencies") {
    const Network network = test::network_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "3k", pins = ["out", "gnd"] }
)"});
    const Program& program = *network.plan()->program;
    CHECK(program.once_steps() == program.steps());
    CHECK(program.slots == 0);
}

}  // namespace lowhiss::plan_test
