// A corner outside the searched range is not a corner at 0 Hz: a limit on it is not met.

#include "lowhiss/promise/check.hpp"
#include "lowhiss/series/spread.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::unknown_corner_test {

const std::string low_corner_limit = R"(
[[limit]]
name = "bass"
measure = "low_corner"
max = "10 Hz"
)";

Verdict verdict_of(const std::string& text) {
    const FileReader reader = test::memory_reader(
        {{"board.toml", text}, {"cap.csv", "20,200,0\n1000,210,5\n20000,300,30\n"}});
    BoardReading reading = read_board("board.toml", reader);
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    const CheckRequest request{&*reading.board, reading.board->limits};
    return check_board(request).verdicts.at(0);
}

TEST_CASE("below what was measured of a capsule there may be a corner or none") {
    // By R and C alone it is near 15.6 Hz, below the first point of the table.
    const Verdict verdict = verdict_of(R"(
[parts]
C1 = { capacitor = "1u", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
[capsule.measured]
kind = "measured"
file = "cap.csv"
[input]
plus = "in"
capsule = "measured"
[output]
plus = "out"
)" + low_corner_limit);
    CHECK(verdict.outcome == Outcome::not_computed);
    CHECK(std::isnan(verdict.value));
}

TEST_CASE("an output that the signal does not reach has no corner") {
    const Verdict verdict = verdict_of(R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)" + low_corner_limit);
    CHECK(verdict.outcome == Outcome::not_computed);
}

TEST_CASE("a board that passes direct current has its low corner below every bound") {
    const Verdict verdict = verdict_of(R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)" + low_corner_limit);
    CHECK(verdict.outcome == Outcome::pass);
    CHECK(verdict.value == 0);
}

}  // namespace lowhiss::unknown_corner_test
