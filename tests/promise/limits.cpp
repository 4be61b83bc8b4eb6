// Limits and masks on a board whose every figure has a closed form: an RC low pass of 1 kohm and
// 100 nF, corner 1/(2 pi RC) = 1591.549 Hz.

#include <cmath>
#include <numbers>

#include "lowhiss/promise/check.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::limits_test {

constexpr double corner_hz = 1 / (2 * std::numbers::pi * 1e3 * 100e-9);

double loss_db(double f_hz) {
    return 10 * std::log10(1 + std::pow(f_hz / corner_hz, 2));
}

const std::string low_pass = R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
C1 = { capacitor = "100n", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
[variants.slower]
set = { C1 = "200n" }
)";

std::vector<Verdict> verdicts_of(const std::string& limits,
                                 std::map<std::string, std::string> files = {}) {
    files["board.toml"] = low_pass + limits;
    const FileReader reader = test::memory_reader(files);
    BoardReading reading = read_board("board.toml", reader);
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    REQUIRE(reading.diagnostics.empty());
    const CheckRequest request{&*reading.board, reading.board->limits};
    return check_boards({&request, 1}).front().verdicts;
}

std::string mistakes_of(const std::string& limits) {
    const FileReader reader = test::memory_reader({{"board.toml", low_pass + limits}});
    return test::all_text(read_board("board.toml", reader).diagnostics);
}

TEST_CASE("a limit is taken in every variant, with value, margin and the parts that move it") {
    const auto v = verdicts_of(R"(
[[limit]]
name = "treble"
measure = "high_corner"
min = "1 kHz"
)");
    REQUIRE(v.size() == 2);
    CHECK(v[0].variant.empty());
    CHECK(v[0].outcome == Outcome::pass);
    // The corner is 3.0103 dB under the gain at 1 kHz, which the low pass has lowered already.
    const double at_1khz = std::pow(10, loss_db(1000) / 10);
    CHECK_THAT(v[0].value, WithinRel(corner_hz * std::sqrt(2 * at_1khz - 1), 1e-8));
    CHECK_THAT(v[0].margin, WithinRel(v[0].value - 1000, 1e-12));
    CHECK(v[1].variant == "slower");
    CHECK(v[1].outcome == Outcome::pass);
    CHECK(v[0].look_at.empty());
}

TEST_CASE("a missed limit names the parts to look at") {
    const auto v = verdicts_of(R"(
[[limit]]
name = "loss"
measure = "attenuation"
at = "5 kHz"
variant = "plain"
max = "1 dB"
)");
    REQUIRE(v.size() == 1);
    CHECK(v[0].outcome == Outcome::fail);
    CHECK_THAT(v[0].value, WithinRel(loss_db(5000) - loss_db(1000), 1e-10));
    CHECK_THAT(v[0].margin, WithinRel(1 - v[0].value, 1e-10));
    CHECK(v[0].look_at == std::vector<std::string>{"R1", "C1"});
}

TEST_CASE("a band measure is found between the points of any grid") {
    const auto v = verdicts_of(R"(
[[limit]]
name = "flat"
measure = "flatness"
from = "20 Hz"
to = "2 kHz"
variant = "plain"
max = "3 dB"
)");
    REQUIRE(v.size() == 1);
    CHECK_THAT(v[0].value, WithinRel(loss_db(2000) - loss_db(20), 1e-9));
    CHECK_THAT(v[0].at_hz, WithinRel(2000, 1e-9));
}

TEST_CASE("a mask reports its worst frequency, from the board file or from a CSV") {
    // The bound is -1 dB at 100 Hz and 10 kHz; the low pass crosses it in between and is worst at
    // the upper end, where it is 10 log10(1 + (10000 / corner)^2) down.
    const std::string in_board = R"(
[[limit]]
name = "curve"
measure = "gain"
variant = "plain"
mask = [{ at = "100 Hz", min = "-1 dB", max = "1 dB" }, { at = "10 kHz", min = "-1 dB" }]
)";
    const std::string in_file = R"(
[[limit]]
name = "curve"
measure = "gain"
variant = "plain"
mask = "curve.csv"
)";
    for (const auto& v :
         {verdicts_of(in_board), verdicts_of(in_file, {{"curve.csv",
                                                        "frequency_hz,min,max\n# bounds\n"
                                                        "100,-1,1\r\n10000,-1,\n"}})}) {
        REQUIRE(v.size() == 1);
        CHECK(v[0].outcome == Outcome::fail);
        CHECK_THAT(v[0].at_hz, WithinRel(10000, 1e-9));
        CHECK_THAT(v[0].value, WithinRel(-loss_db(10000), 1e-10));
        CHECK_THAT(v[0].margin, WithinRel(1 - loss_db(10000), 1e-10));
    }
}

TEST_CASE("what has no corner is beyond every bound of one") {
    const auto v = verdicts_of(R"(
[[limit]]
name = "bass"
measure = "low_corner"
variant = "plain"
max = "1 mHz"
)");
    REQUIRE(v.size() == 1);
    CHECK(v[0].outcome == Outcome::pass);
}

TEST_CASE("a figure that does not exist is an error of the limit, never a number") {
    const auto v = verdicts_of(R"(
[[limit]]
name = "nf"
measure = "noise_figure"
variant = "plain"
max = "3 dB"
)");
    REQUIRE(v.size() == 1);
    CHECK(v[0].outcome == Outcome::not_computed);
    CHECK(v[0].reason == "the figure does not exist here: the source has no thermal noise");
}

TEST_CASE("a limit of one part's cost is that part's") {
    const auto v = verdicts_of(R"(
[[limit]]
name = "no coupling"
measure = "bass_loss"
part = "C1"
max = "0.1 dB"
)");
    // A capacitor to ground couples nothing.
    REQUIRE(v.size() == 2);
    CHECK(v[0].outcome == Outcome::pass);
}

TEST_CASE("mistakes in a limit are told where they stand") {
    CHECK(mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"gian\"\nmax = 1\n")
              .find("did you mean 'gain'?") != std::string::npos);
    CHECK(mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"ein\"\nat = \"1 kHz\"\nmax = 1\n")
              .find("measure 'ein' does not depend on 'at'") != std::string::npos);
    CHECK(mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"gain\"\nmin = 2\nmax = 1\n")
              .find("'min' is above 'max'") != std::string::npos);
    CHECK(mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"bass_loss\"\nmax = 1\n")
              .find("'part' is missing") != std::string::npos);
    CHECK(mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"bass_loss\"\npart = \"C2\"\nmax = 1\n")
              .find("accepted: capsule, R1, C1") != std::string::npos);
    CHECK(
        mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"ein\"\nfrom = \"1 kHz\"\nto = \"1 Hz\"\n"
                    "max = 1\n")
            .find("[empty-band]") != std::string::npos);
    CHECK(mistakes_of("[[limit]]\nname = \"a\"\nmeasure = \"low_corner\"\nmax = \"3 dB\"\n")
              .find("board.toml:14:7") != std::string::npos);
}

}  // namespace lowhiss::limits_test
