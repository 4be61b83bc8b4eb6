// Alterations of a board for one run: what they change, and how mistakes in them are reported.

#include "lowhiss/board/board.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::alteration_test {

const std::string text = R"(board = { name = "Siskin", revision = "A" }
input = { plus = "in" }
output = { plus = "out" }
[parts]
R1 = { resistor = "1k", pins = ["in", "out"], tolerance = "5 %" }
R10 = { resistor = "2k", pins = ["out", "gnd"] }
"a.b" = { capacitor = "1n", pins = ["out", "gnd"] }
RV1 = { potentiometer = "10k", pins = ["in", "out", "gnd"] }
SB1 = { link = "open", pins = ["in", "out"] }
U1 = { opamp = "one", plus = "in", minus = "out", out = "out" }
[opamp.one]
open_loop_gain = "100 dB"
gain_bandwidth = "1 MHz"
[opamp.two]
open_loop_gain = "100 dB"
gain_bandwidth = "2 MHz"
[variants.other]
set = { R1 = "3k", R10 = { tolerance = "10 %" } }
)";

BoardReading reading_with(const std::vector<std::string>& set) {
    return read_board("board.toml", test::memory_reader({{"board.toml", text}}), set);
}

Board board_with_set(const std::vector<std::string>& set) {
    BoardReading reading = reading_with(set);
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    return *std::move(reading.board);
}

template <class Data>
const Data& data_of(const Board& board, const char* name) {
    return std::get<Data>(find_part(board, name)->data);
}

TEST_CASE("an alteration changes the main value or another key") {
    const Board board =
        board_with_set({"R1=4k7", " R10 = 15 ", "R1.tolerance=1 %", "a.b=2n2", "SB1=closed",
                        "U1=two", "RV1.taper=[[0, 0], [0.5, 0.2], [1, 1]]", "R10.fitted=false"});
    CHECK(data_of<Resistor>(board, "R1").resistance_ohm == 4700);
    CHECK(data_of<Resistor>(board, "R1").tolerance.high == 0.01);
    CHECK(data_of<Resistor>(board, "R10").resistance_ohm == 15);
    CHECK_FALSE(find_part(board, "R10")->fitted);
    CHECK(data_of<Capacitor>(board, "a.b").capacitance_f == 2.2e-9);
    CHECK(data_of<Link>(board, "SB1").closed);
    CHECK(data_of<OpAmp>(board, "U1").model == "two");
    CHECK(data_of<Potentiometer>(board, "RV1").taper.points[1] == std::pair(0.5, 0.2));
}

TEST_CASE("the name of the board says what was set") {
    const Board board = board_with_set({"R1=4k7", "SB1=closed"});
    CHECK(board.name == "Siskin with R1=4k7, SB1=closed");
    CHECK(board.set == std::vector<std::string>{"R1=4k7", "SB1=closed"});
    CHECK(board_with_set({}).name == "Siskin");
}

TEST_CASE("an alteration counts in a variant that sets the same key, and leaves its other keys") {
    const Board board = board_with_set({"R1=15R", "R10=22R"});
    const Board other = with_variant(board, find_variant(board, "other"));
    CHECK(data_of<Resistor>(other, "R1").resistance_ohm == 15);
    CHECK(data_of<Resistor>(other, "R10").resistance_ohm == 22);
    CHECK(data_of<Resistor>(other, "R10").tolerance.high == 0.1);
}

std::string mistakes(const std::vector<std::string>& set) {
    const BoardReading reading = reading_with(set);
    CHECK_FALSE(reading.board);
    return test::all_text(reading.diagnostics);
}

TEST_CASE("mistakes of an alteration point at the option") {
    CHECK(mistakes({"R1=4,7R"}) ==
          "--set:1:4: error: R1.resistor: '4,7R' has a comma [bad-value]\n"
          "    1 | R1=4,7R\n"
          "      |    ^\n"
          "      = accepted: a resistance such as 4k7, 4.7 kΩ or 4700 ohm\n"
          "      = advice: write 4.7R\n");
    CHECK(mistakes({"R1=1k", "R100=1k"}) ==
          "--set:1:1: error: there is no part 'R100' [unknown-part]\n"
          "    1 | R100=1k\n"
          "      | ^\n"
          "      = accepted: R1, R10, a.b, RV1, SB1, U1\n"
          "      = advice: did you mean 'R10'?\n");
    CHECK(mistakes({"R1.tol = 1 %"}) ==
          "--set:1:4: error: R1: unknown key 'tol' [unknown-key]\n"
          "    1 | R1.tol = 1 %\n"
          "      |    ^\n"
          "      = accepted: resistor, tolerance, temperature_coefficient, pins, fitted, note, "
          "device, unit, numbers\n"
          "      = advice: did you mean 'tolerance'?\n");
    CHECK(mistakes({"RV1.taper=[[0, 0], [0.5, 0.2]"}) ==
          "--set:1:30: error: the list is not closed [syntax]\n"
          "    1 | RV1.taper=[[0, 0], [0.5, 0.2]\n"
          "      |                              ^\n"
          "      = accepted: a ] at its end\n");
}

TEST_CASE("an alteration has a part, an = and a value, each key once") {
    const auto first_line = [](const std::vector<std::string>& set) {
        const std::string all = mistakes(set);
        return all.substr(0, all.find('\n'));
    };
    CHECK(first_line({"R1"}) == "--set:1:1: error: there is no = in 'R1' [bad-alteration]");
    CHECK(first_line({""}) == "--set:1:1: error: there is no = in '' [bad-alteration]");
    CHECK(first_line({"=1k"}) ==
          "--set:1:1: error: there is no part before the = [bad-alteration]");
    CHECK(first_line({"R1="}) ==
          "--set:1:3: error: there is no value after the = [bad-alteration]");
    CHECK(first_line({"R1.=2"}) ==
          "--set:1:3: error: there is no key after the dot [bad-alteration]");
    CHECK(first_line({"R1=2\x01"}) ==
          "--set:1:1: error: it has a character that is invisible or not UTF-8 [bad-alteration]");
    CHECK(first_line({"R1=2k", "R1.resistor=3k"}) ==
          "--set:1:1: error: R1: 'resistor' is set twice [set-twice]");
    CHECK(first_line({"R1=-3"}) ==
          "--set:1:4: error: R1.resistor: '-3' is out of range [out-of-range]");
    CHECK(first_line({"U1=three"}) ==
          "--set:1:4: error: U1.opamp: there is no opamp model 'three' [unknown-model]");
}

TEST_CASE("no alteration of any bytes ends the reader") {
    for (const char* set : {"R1={",
                            "R1=[",
                            "R1='",
                            "R1=\"",
                            "R1=[1,2]",
                            "R1={a=1}",
                            "R1.pins=[]",
                            "R1.pins=['x']",
                            "R1.pins=x",
                            "a.b",
                            ".=",
                            "..=1",
                            "R1.a.b=1",
                            "R1==1",
                            "\xff=1",
                            "R1=\xff",
                            "R1.resistor=true",
                            "SB1=true",
                            "SB1.link=1",
                            "R1={resistor='1k', pins=['in', 'nowhere']}"}) {
        INFO(set);
        const BoardReading reading = reading_with({set});
        CHECK(reading.board.has_value() != has_errors(reading.diagnostics));
    }
}

}  // namespace lowhiss::alteration_test
