// Polarity in limits and in baselines.

#include <algorithm>

#include "lowhiss/promise/check.hpp"
#include "lowhiss/promise/drift.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::promise_polarity_test {

/// A transformer, with its secondary one way round or the other.
Board board_of(const std::string& secondary, const std::string& limit = "") {
    return test::board_from_text(R"(
[parts]
T1 = { transformer = { ratio = 2, primary_inductance = "100", coupling = 0.999 }, primary = ["in", "gnd"], secondary = [)" +
                                 secondary + R"(] }
R1 = { resistor = "10k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)" + limit);
}

const std::string in_phase = "\"out\", \"gnd\"";
const std::string inverted = "\"gnd\", \"out\"";

Outcome outcome_of(const std::string& secondary, const std::string& bound) {
    const Board board =
        board_of(secondary, "[[limit]]\nname = \"sign\"\nmeasure = \"polarity\"\n" + bound + "\n");
    const BoardCheck check = check_board({&board, board.limits});
    REQUIRE(check.verdicts.size() == 1);
    return check.verdicts.front().outcome;
}

TEST_CASE("a limit asks for an output in phase, or for an inverted one", "[polarity]") {
    CHECK(outcome_of(in_phase, "min = 1") == Outcome::pass);
    CHECK(outcome_of(inverted, "min = 1") == Outcome::fail);
    CHECK(outcome_of(inverted, "max = -1") == Outcome::pass);
    CHECK(outcome_of(in_phase, "max = -1") == Outcome::fail);
}

TEST_CASE("a board that inverts now and did not has drifted", "[polarity]") {
    const auto figures_of = [](const Board& board) {
        return check_board({&board, {}, true}).figures;
    };
    const Board before = board_of(in_phase);
    const std::string text = baseline_text(before, figures_of(before), "1.2.3");
    Diagnostics out;
    const auto baseline = read_baseline("b", test::memory_reader({{"b", text}}), out);
    REQUIRE(baseline);
    const auto moved = [&](const Board& board) {
        std::vector<std::string> names;
        for (const FigureDrift& drift : drift_from(*baseline, figures_of(board), board, out)) {
            if (drift.kind == FigureDrift::Kind::moved) names.push_back(drift.key);
        }
        return names;
    };
    CHECK(moved(before).empty());
    CHECK(moved(board_of(inverted)) == std::vector<std::string>{"plain, no capsule, polarity"});
    CHECK(out.empty());
}

}  // namespace lowhiss::promise_polarity_test
