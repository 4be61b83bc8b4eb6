// An assembly keeps the gains of a knob position that it has forgotten.

#include "lowhiss/measure/assembly.hpp"

#include <cmath>

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/promise/check.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::assembly_test {

constexpr const char* turned = R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
RV1 = { potentiometer = "10k", pins = ["out", "out", "gnd"], end_resistance = "10R" }
[input]
plus = "in"
[output]
plus = "out"
[knob]
part = "RV1"
positions = [0.1, 0.5, 1]
[[limit]]
name = "range"
measure = "gain_range"
at = "50 Hz"
max = "90 dB"
[[limit]]
name = "level"
measure = "gain"
knob = [0.3, 1]
min = "-90 dB"
)";

TEST_CASE("a forgotten knob position keeps its gains and its share of the account") {
    const Board board = test::board_from_text(turned);
    Assembly assembly(board, "", "");
    const double gain = assembly.gain_at(0.5, 1000);
    const auto solved = assembly.account().factorisations;
    REQUIRE(solved > 0);
    assembly.forget(0.5);
    CHECK(assembly.gain_at(0.5, 1000) == gain);
    CHECK(assembly.account().factorisations == solved);
    CHECK(gain_db(assembly.setting(0.5), 1000) == gain);
    CHECK(assembly.account().factorisations > solved);
    assembly.forget(0.7);  // which was never solved
}

TEST_CASE("verdicts come in the order of limits and rotations, whatever is solved first") {
    const Board board = test::board_from_text(turned);
    const BoardCheck check = check_board({&board, board.limits, true});
    REQUIRE(check.verdicts.size() == 3);
    CHECK(check.verdicts[0].limit == "range");
    CHECK(check.verdicts[1].knob == 0.3);
    CHECK(check.verdicts[2].knob == 1);
    for (const Verdict& verdict : check.verdicts) CHECK(verdict.outcome == Outcome::pass);
    CHECK(check.figures.front().knob == 0.1);
    CHECK(std::isnan(check.figures.back().knob));
}

}  // namespace lowhiss::assembly_test
