// The lanes against the pivoting reference path: on the demo boards at every knob position, on
// every instruction set that this processor has.

#include <algorithm>
#include <cmath>

#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"

namespace lowhiss::lanes_test {

/// 19 frequencies: two full sets of lanes and a part of one.
std::vector<double> grid_hz() {
    std::vector<double> grid;
    for (int k = 0; k < 19; ++k) grid.push_back(20 * std::pow(10, k / 6.0));
    return grid;
}

struct Sides {
    std::vector<Complex> b;
    std::vector<Complex> c;
};

Sides sides_of(const Circuit& circuit, const Pencil& pencil) {
    Sides sides{std::vector<Complex>(static_cast<std::size_t>(pencil.size)),
                std::vector<Complex>(static_cast<std::size_t>(pencil.size))};
    sides.b[static_cast<std::size_t>(circuit.emf_current)] = 1;
    if (circuit.output_plus > 0) sides.c[static_cast<std::size_t>(circuit.output_plus) - 1] += 1;
    if (circuit.output_minus > 0) sides.c[static_cast<std::size_t>(circuit.output_minus) - 1] -= 1;
    return sides;
}

Complex dot(const std::vector<Complex>& a, const std::vector<Complex>& b) {
    Complex sum = 0;
    for (std::size_t k = 0; k < a.size(); ++k) sum += a[k] * b[k];
    return sum;
}

/// The gain is c^T x and y^T b: both come from other digits of the solution.
void check_position(const LaneKernel& kernel, const Board& board, double rotation,
                    const Capsule* capsule) {
    Network network(build_circuit(board, rotation, capsule));
    const Sides sides = sides_of(network.circuit(), network.pencil());
    ReferenceSolver reference(network.pencil());
    Solver solver(network.plan(), network.pencil(), kernel);
    const std::vector<double> grid = grid_hz();
    std::vector<Solution> solutions;
    solver.solve_at(grid, sides.b, sides.c, [&](const SolvedLanes& solved) {
        for (std::size_t lane = 0; lane < solved.count; ++lane) {
            Solution& one = solutions.emplace_back();
            for (std::size_t k = 0; k < sides.b.size(); ++k) {
                one.x.push_back(solved.x_at(k, lane));
                one.y.push_back(solved.y_at(k, lane));
            }
        }
    });
    REQUIRE(solutions.size() == grid.size());
    for (std::size_t k = 0; k < grid.size(); ++k) {
        CAPTURE(board.name, rotation, grid[k]);
        reference.factorise(grid[k]);
        const Complex gain = dot(sides.c, reference.solve(sides.b));
        CHECK_THAT(dot(sides.c, solutions[k].x), test::CloseTo(gain, test::close));
        CHECK_THAT(dot(sides.b, solutions[k].y), test::CloseTo(gain, test::close));
    }
    CHECK(solver.account().fallbacks == 0);
    CHECK(solver.account().factorisations == grid.size());
    CHECK(solver.account().worst_backward_error <= largest_backward_error);
}

void check_all_boards(const LaneKernel& kernel) {
    for (const std::string name : {"bittern", "curlew", "heron-c", "tern", "wren", "plover-tee"}) {
        const std::string path = LOWHISS_SOURCE_DIR "/netlists/boards/" + name + ".toml";
        BoardReading reading = read_board(path, disk_reader());
        REQUIRE(reading.board);
        for (const double rotation : reading.board->knob->positions) {
            check_position(kernel, *reading.board, rotation, test::capsule_of(*reading.board));
            check_position(kernel, *reading.board, rotation,
                           nullptr);  // the adjoint has exact zeros
        }
        if (!reading.board->models.capsules.contains("measured-300")) continue;
        check_position(kernel, *reading.board, 1,
                       &reading.board->models.capsules.at("measured-300"));
    }
}

TEST_CASE("lanes agree with the reference path on every instruction set of this processor") {
    REQUIRE(!lane_kernels().empty());
    for (const LaneKernel* kernel : lane_kernels()) {
        CAPTURE(instruction_set(*kernel));
        check_all_boards(*kernel);
    }
}

TEST_CASE("a frequency that lanes cannot solve is solved by the reference path, or refused") {
    // A gain of one fed back on itself: no voltage satisfies it at any frequency.
    const Board board = test::board_from_text(R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
E1 = { voltage_gain = 1.0, control = ["loop", "gnd"], pins = ["loop", "gnd"] }
R2 = { resistor = "1k", pins = ["loop", "gnd"] }
R3 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)");
    Network network = test::network_of(board);
    const double list_hz[] = {100, 1000};
    CHECK_THROWS_AS(network.respond_all(list_hz), Error);
}

TEST_CASE("no frequencies give no responses") {
    Network network = test::network_from_text(R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
[input]
plus = "in"
[output]
plus = "in"
)");
    CHECK(network.respond_all({}).empty());
}

}  // namespace lowhiss::lanes_test
