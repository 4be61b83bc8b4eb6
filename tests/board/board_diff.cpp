#include "lowhiss/board/board_diff.hpp"

#include <fmt/format.h>

#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::board_diff_test {

const std::string around = R"(
[input]
plus = "in"
[output]
plus = "out"
[parts]
)";

const std::string before = R"(
R1 = { resistor = "1k", pins = ["in", "mid"], tolerance = "1 %" }
R2 = { resistor = "2k", pins = ["mid", "gnd"] }
C1 = { capacitor = "100n", pins = ["mid", "out"] }
R3 = { resistor = "10k", pins = ["out", "gnd"] }
)";

std::string changes_to(const std::string& after) {
    std::string text;
    for (const BoardChange& c : board_changes(board_lines(test::board_from_text(around + before)),
                                              board_lines(test::board_from_text(around + after)))) {
        text += fmt::format("{} {}: {} -> {}\n", c.name, text_of(c.kind), c.before, c.after);
    }
    return text;
}

TEST_CASE("boards that differ in names of nodes and order of parts alone do not differ") {
    CHECK(changes_to(before).empty());
    CHECK(changes_to(R"(
C1 = { capacitor = "100n", pins = ["elsewhere", "out"] }
R3 = { resistor = "10k", pins = ["out", "gnd"] }
R1 = { resistor = "1000", pins = ["in", "elsewhere"], tolerance = 0.01 }
R2 = { resistor = "2 kohm", pins = ["elsewhere", "gnd"] }
)")
              .empty());
}

TEST_CASE("parts that were added, removed, changed and rewired are told apart") {
    CHECK(changes_to(R"(
R1 = { resistor = "1k2", pins = ["in", "mid"], tolerance = "1 %" }
R2 = { resistor = "2k", pins = ["in", "gnd"] }
C1 = { capacitor = "100n", pins = ["mid", "out"] }
R4 = { resistor = "47k", pins = ["out", "gnd"] }
)") == "R1 changed: resistor 1 kΩ, tolerance 1 % -> resistor 1.2 kΩ, tolerance 1 %\n"
       "R2 rewired: mid, gnd -> in, gnd\n"
       "R4 added:  -> resistor 47 kΩ\n"
       "R3 removed: resistor 10 kΩ -> \n");
}

TEST_CASE("pins may change places on a reversible part, but not on a polarised or directed one") {
    const auto swapped = [](const std::string& part, const std::string& figures) {
        const auto lines = [&](const std::string& pins) {
            return board_lines(test::board_from_text(around + before + "X1 = { " + part +
                                                     ", pins = [" + pins + "]" + figures + " }\n"));
        };
        return board_changes(lines(R"("mid", "out")"), lines(R"("out", "mid")"));
    };
    for (const std::string part : {R"(resistor = "1k")", R"(capacitor = "1u")",
                                   R"(inductor = "1 mH")", R"(link = "closed")"}) {
        CAPTURE(part);
        CHECK(swapped(part, "").empty());
    }
    const auto polarised = swapped(R"(capacitor = "1u")", ", polarised = true");
    REQUIRE(polarised.size() == 1);
    CHECK(polarised[0].kind == BoardChange::Kind::rewired);
    const auto source = swapped(R"(voltage_source = "1 V")", "");
    REQUIRE(source.size() == 1);
    CHECK(source[0].kind == BoardChange::Kind::rewired);
}

TEST_CASE("what a board's figures depend on is in its lines: tracks, ripple, measured capsules") {
    const auto lines = [](const std::string& taper, const std::string& density,
                          const std::string& csv) {
        const std::string text = R"(
[input]
plus = "in"
capsule = "bridge"
[output]
plus = "out"
[parts]
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["v", "out"] }
RV1 = { potentiometer = "1k", pins = ["in", "out", "gnd"], taper = )" +
                                 taper + R"( }
[[ripple]]
source = "V1"
density = ")" + density + R"("
[capsule.bridge]
kind = "measured"
file = "z.csv"
)";
        return board_lines(test::board_from_files(text, {{"z.csv", csv}}));
    };
    const std::string track = "[[0, 0], [0.5, 0.2], [1, 1]]";
    const std::string csv = "20,200,10\n20000,300,50\n";
    const auto one = lines(track, "1 uV/rtHz", csv);
    CHECK(board_changes(one, lines(track, "1 uV/rtHz", csv)).empty());
    CHECK(board_changes(one, lines("[[0, 0], [0.5, 0.3], [1, 1]]", "1 uV/rtHz", csv)).size() == 1);
    CHECK(board_changes(one, lines(track, "2 uV/rtHz", csv)).size() == 1);
    CHECK(board_changes(one, lines(track, "1 uV/rtHz", "20,200,11\n20000,300,50\n")).size() == 1);
}

}  // namespace lowhiss::board_diff_test
