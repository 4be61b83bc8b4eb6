// Boards far larger than real ones, as a program or an attacker may write them. Deep recursion or
// quadratic work would make these tests fail.

#include "draw/drawing.hpp"
#include "lowhiss/topology/check.hpp"
#include "lowhiss/topology/feedback.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::large_boards_test {

constexpr int many = 100'000;

std::string node(int k) {
    return "n" + std::to_string(k);
}

Part part(const std::string& name, PartData data, std::vector<std::string> nodes) {
    Part made{name, std::move(data), {}, true, "", {}};
    for (std::string& n : nodes) made.pins.push_back({std::move(n), {}});
    return made;
}

Board empty_board(const std::string& out) {
    Board board;
    board.input.plus.node = "n0";
    board.input.minus.node = "gnd";
    board.output.plus.node = out;
    board.output.minus.node = "gnd";
    OpAmpModel opamp;
    opamp.open_loop_gain = 1e5;
    opamp.gain_bandwidth_hz = 1e7;
    board.models.opamps["ideal"] = opamp;
    return board;
}

Diagnostics findings(const Board& board) {
    return check_topology(board, build_circuit(board, 0, nullptr));
}

TEST_CASE("a ladder of a hundred thousand parts") {
    Board board = empty_board(node(many / 2));
    for (int k = 0; k < many / 2; ++k) {
        board.parts.push_back(
            part("R" + std::to_string(k), Resistor{1e3, {}, {}}, {node(k), node(k + 1)}));
        board.parts.push_back(part("C" + std::to_string(k),
                                   Capacitor{1e-9, 0, infinite, infinite, false, 0, 0, {}, {}, {}},
                                   {node(k + 1), "gnd"}));
    }
    CHECK(findings(board).empty());
    CHECK(feedback_loops(board).empty());
    CHECK(cli::graph_text(board, "").size() > many);
}

TEST_CASE("a chain of a hundred thousand shorts, open and as a ring") {
    Board board = empty_board(node(many));
    for (int k = 0; k < many; ++k) {
        board.parts.push_back(part("SB" + std::to_string(k), Link{true}, {node(k), node(k + 1)}));
    }
    CHECK(findings(board).empty());
    board.parts.push_back(part("R1", Resistor{0, {}, {}}, {node(many), "gnd"}));
    const Diagnostics found = findings(board);
    REQUIRE(found.size() == 1);
    CHECK(found[0].found ==
          "it closes a loop without impedance, with SB1, SB2, SB3, SB4, SB5, SB6, SB7, SB8 and "
          "99993 more, through 'n0', 'n1', 'n2', 'n3', 'n4', 'n5', 'n6', 'n7' and 99994 more: the "
          "current in the loop is undetermined");
}

TEST_CASE("a grid of shorts, with as many loops as parts") {
    Board board = empty_board("n1");
    for (int k = 0; k < many / 3; ++k) {
        const std::string n = std::to_string(k);
        board.parts.push_back(part("A" + n, Link{true}, {node(k), node(k + 1)}));
        board.parts.push_back(part("B" + n, Link{true}, {"m" + n, "m" + std::to_string(k + 1)}));
        board.parts.push_back(part("C" + n, Link{true}, {node(k), "m" + n}));
    }
    Diagnostics found = findings(board);
    std::erase_if(found, [](const Diagnostic& d) { return d.code == "lone-pin"; });
    REQUIRE(found.size() == 20);
    CHECK(found.back().found.find("33312 more of the same kind") != std::string::npos);
}

TEST_CASE("a hundred thousand slips") {
    Board board = empty_board("n1");
    board.parts.push_back(part("R0", Resistor{1e3, {}, {}}, {"n0", "n1"}));
    for (int k = 0; k < many; ++k) {
        board.parts.push_back(
            part("R1" + std::to_string(k), Resistor{1e3, {}, {}}, {"n1", "x" + node(k)}));
    }
    const Diagnostics found = findings(board);
    REQUIRE(found.size() == 20);
    CHECK(found.back().found == "no other pin is on the node 'xn19'; 99980 more of the same kind");
}

TEST_CASE("twenty thousand amplifiers in a row, each with its feedback") {
    Board board = empty_board(node(many / 5));
    for (int k = 0; k < many / 5; ++k) {
        const std::string n = std::to_string(k);
        board.parts.push_back(part("U" + n, OpAmp{"ideal"}, {node(k), "m" + n, node(k + 1)}));
        board.parts.push_back(part("R" + n, Resistor{1e3, {}, {}}, {node(k + 1), "m" + n}));
        board.parts.push_back(part("C" + n, Resistor{1e3, {}, {}}, {"m" + n, "gnd"}));
    }
    CHECK(findings(board).empty());
    CHECK(feedback_loops(board).size() == many / 5);
}

}  // namespace lowhiss::large_boards_test
