// Faults of the supply fail a check and a board of a series, unless the board accepts them by name.

#include "lowhiss/measure/supply_faults.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/series/spread.hpp"
#include "lowhiss/sweep/sweep.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::supply_faults_test {

/// A block from 9.6 V over 9 V to 6 V; an amplifier that needs at least 7 V; C1 the wrong way round
/// on half of the block's voltage, and rated 4.7 V, which a full block exceeds by 0.1 V.
const std::string faulty = R"(
[battery.block]
full = "9.6 V"
nominal = "9 V"
empty = "6 V"
capacity = "500 mAh"
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
supply_min = "7 V"
supply_current = "1 mA"
[parts]
BT1 = { battery = "block", pins = ["vcc", "gnd"] }
R1 = { resistor = "10k", pins = ["vcc", "mid"] }
R2 = { resistor = "10k", pins = ["mid", "gnd"] }
C1 = { capacitor = "10u", pins = ["gnd", "mid"], rating = "4.7 V", polarised = true }
C2 = { capacitor = "1u", pins = ["in", "mid"] }
U1 = { opamp = "amp", plus = "mid", minus = "out", out = "out", supply = ["vcc", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[variants.turned]
set = { C1 = { pins = ["mid", "gnd"] } }
[[limit]]
name = "the limit"
measure = "gain"
at = "1 kHz"
min = "-100 dB"
)";

std::vector<Verdict> verdicts_of(const Board& board) {
    CheckRequest request{&board, board.limits};
    request.stability = true;
    std::vector<Verdict> verdicts = check_boards({&request, 1}).front().verdicts;
    std::erase_if(verdicts, [](const Verdict& v) { return v.of_limit; });
    return verdicts;
}

TEST_CASE("check fails a board for each fault of its supply at any end of it", "[supply-faults]") {
    const auto v = verdicts_of(test::board_from_text(faulty));
    REQUIRE(v.size() == 5);
    CHECK(v[0].limit == "supply");
    CHECK(std::all_of(v.begin(), v.end(),
                      [](const Verdict& each) { return each.outcome == Outcome::fail; }));
    CHECK(v[0].reason == "U1: supply too low: 6 V, needs at least 7 V; batteries empty");
    CHECK(v[1].reason == "C1: polarised and reverse biased by 4.8 V");
    CHECK(v[2].reason == "C1: overvoltage: 4.8 V, rated 4.7 V; batteries full");
    CHECK(v[3].variant == "turned");
    CHECK(v[3].reason == v[0].reason);
    CHECK(v[4].reason == v[2].reason);
}

TEST_CASE("a board accepts a fault by its name, with a reason", "[supply-faults]") {
    const auto v = verdicts_of(test::board_from_text(faulty + R"(
[[accept]]
fault = "reversed"
part = "C1"
variant = "plain"
why = "a bipolar type is fitted"
[[accept]]
fault = "supply_too_low"
part = "U1"
why = "the block is replaced at 7 V"
)"));
    REQUIRE(v.size() == 5);
    const auto outcome = [&](std::size_t k) { return v[k].outcome; };
    CHECK(outcome(0) == Outcome::accepted);
    CHECK(v[0].reason ==
          "U1: supply too low: 6 V, needs at least 7 V; batteries empty; accepted: the block is "
          "replaced at "
          "7 V");
    CHECK(outcome(1) == Outcome::accepted);
    CHECK(outcome(2) == Outcome::fail);  // another fault of the same part
    CHECK(outcome(3) == Outcome::accepted);
    CHECK(outcome(4) == Outcome::fail);
}

TEST_CASE("an accepted fault of another variant stays a fault", "[supply-faults]") {
    const auto v = verdicts_of(test::board_from_text(faulty + R"(
[[accept]]
fault = "overvoltage"
part = "C1"
variant = ["turned"]
why = "a margin of the maker"
)"));
    REQUIRE(v.size() == 5);
    CHECK(v[2].outcome == Outcome::fail);
    CHECK(v[4].outcome == Outcome::accepted);
}

TEST_CASE("a fault is told where it is worst over the knob", "[supply-faults]") {
    // The wiper is at 10 V times the rotation; C1 is rated 4 V.
    const Board board = test::board_from_text(R"(
[parts]
V1 = { voltage_source = "10 V", pins = ["v", "gnd"] }
RV1 = { potentiometer = "10k", pins = ["gnd", "w", "v"] }
C1 = { capacitor = "10u", pins = ["w", "gnd"], rating = "4 V" }
R1 = { resistor = "1k", pins = ["in", "gnd"] }
[input]
plus = "in"
[output]
plus = "in"
minus = "w"
[knob]
part = "RV1"
positions = [0.25, 0.5, 0.75]
)");
    const auto v = verdicts_of(board);
    REQUIRE(v.size() == 1);
    CHECK(v[0].reason == "C1: overvoltage: 7.5 V, rated 4 V; knob 75 %");

    const auto runs = sweep(board, {}).runs;
    const auto& knob = runs.front().knob;
    CHECK(knob[0].behaviour.supply_faults.empty());
    REQUIRE(knob[1].behaviour.supply_faults.size() == 1);
    CHECK(knob[1].behaviour.supply_faults[0].fault.kind == FaultKind::over_rating);
    CHECK_THAT(knob[1].behaviour.supply_faults[0].fault.excess, WithinAbs(1, 1e-9));
}

TEST_CASE("a board of a series with a fault of its supply does not count as good",
          "[supply-faults]") {
    const std::string text = R"(
[parts]
V1 = { voltage_source = "10 V", pins = ["v", "gnd"] }
R1 = { resistor = "10k", pins = ["v", "mid"], tolerance = "10 %" }
R2 = { resistor = "10k", pins = ["mid", "gnd"], tolerance = "10 %" }
C1 = { capacitor = "10u", pins = ["mid", "gnd"], rating = "5.1 V" }
R3 = { resistor = "1k", pins = ["in", "gnd"] }
[input]
plus = "in"
[output]
plus = "in"
minus = "mid"
[[limit]]
name = "any gain"
measure = "gain"
min = "-1 dB"
)";
    const Board board = test::board_from_text(text);
    SpreadRequest request;
    request.count = 200;
    request.limits = board.limits;
    std::size_t good = 0;
    for (std::size_t k = 0; k < request.count; ++k) {
        const Board made = random_board(board, request.series, k);
        const auto ohm = [&](const char* name) {
            return std::get<Resistor>(find_part(made, name)->data).resistance_ohm;
        };
        if (10 * ohm("R2") / (ohm("R1") + ohm("R2")) <= 5.1) ++good;
    }
    REQUIRE(good > 20);
    REQUIRE(good < 180);
    const Spread spread = spread_of(board, request);
    CHECK(spread.yield.good == good);
    CHECK(spread.faulty_boards == request.count - good);
    CHECK(spread.faults.empty());  // the nominal 5 V are fine
    CHECK(spread.limits.front().yield.good == request.count);

    const Board accepting = test::board_from_text(
        text + "[[accept]]\nfault = \"overvoltage\"\npart = \"C1\"\nwhy = \"tested\"\n");
    CHECK(spread_of(accepting, request).yield.good == request.count);
}

}  // namespace lowhiss::supply_faults_test
