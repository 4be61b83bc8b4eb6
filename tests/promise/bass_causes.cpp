// The parts to look at are those that a sweep names, if a limit fails by loss of bass.

#include <algorithm>

#include "lowhiss/measure/setting.hpp"
#include "lowhiss/promise/check.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::promise_bass_causes_test {

/// A transformer of 20 dB with its corner at 25 Hz, a divider of 6 dB, and a capacitor with its
/// corner at 1.6 Hz.
const std::string board_text = R"(
[capsule.source]
kind = "resistive"
resistance = "200R"
[parts]
T1 = { transformer = { ratio = 10, primary_inductance = "1.25" }, primary = ["in", "gnd"], secondary = ["sec", "gnd"] }
R1 = { resistor = "1M", pins = ["sec", "gnd"] }
E1 = { voltage_gain = 1, control = ["sec", "gnd"], pins = ["d", "gnd"] }
R5 = { resistor = "1k", pins = ["d", "a"] }
R6 = { resistor = "1k", pins = ["a", "gnd"] }
C3 = { capacitor = "100n", pins = ["a", "out"] }
R3 = { resistor = "1M", pins = ["out", "gnd"] }
[input]
plus = "in"
capsule = "source"
[output]
plus = "out"
)";

Verdict verdict_of(const std::string& limit) {
    const Board board = test::board_from_text(board_text + "[[limit]]\nname = \"bass\"\n" + limit);
    const BoardCheck check = check_board({&board, board.limits});
    REQUIRE(check.verdicts.size() == 1);
    REQUIRE(check.verdicts[0].outcome == Outcome::fail);
    return check.verdicts[0];
}

using Names = std::vector<std::string>;

TEST_CASE("a failed limit of the bass names what the sweep names", "[bass]") {
    CHECK(verdict_of("measure = \"low_corner\"\nmax = \"10 Hz\"\n").look_at == Names{"T1"});
    CHECK(verdict_of("measure = \"attenuation\"\nat = \"20 Hz\"\nmax = \"1 dB\"\n").look_at ==
          Names{"T1"});
    CHECK(verdict_of("measure = \"flatness\"\nmax = \"1 dB\"\n").look_at == Names{"T1"});
    CHECK(verdict_of("measure = \"gain\"\nat = \"20 Hz\"\nmin = \"13 dB\"\n").look_at ==
          Names{"T1"});
    CHECK(verdict_of("measure = \"gain\"\nmask = [{ at = \"20 Hz\", min = \"13 dB\" }, { at = "
                     "\"1 kHz\", min = \"13 dB\" }]\n")
              .look_at == Names{"T1"});
    const Board board = test::board_from_text(board_text);
    Setting setting(board, test::capsule_of(board), 0);
    const PartBassLoss loss = setting.bass_loss(setting.low_corner_hz());
    REQUIRE(loss.causes.size() == 1);
    CHECK(loss.causes[0].part == "T1");
}

bool names(const std::string& part, const Names& parts) {
    return std::find(parts.begin(), parts.end(), part) != parts.end();
}

TEST_CASE("a gain that the bass does not explain is not blamed on it alone", "[bass]") {
    // 46 dB are missing at 1 kHz too; the bass takes some 4 dB more.
    const Verdict low = verdict_of("measure = \"gain\"\nat = \"20 Hz\"\nmin = \"60 dB\"\n");
    CHECK(names("R5", low.look_at));
    // Nor is a gain that is too high.
    const Verdict high = verdict_of("measure = \"gain\"\nat = \"20 Hz\"\nmax = \"3 dB\"\n");
    CHECK(names("R5", high.look_at));
}

}  // namespace lowhiss::promise_bass_causes_test
