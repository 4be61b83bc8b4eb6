// Units of one device that changed places on the board: halves of dual amplifiers, quarters of
// quads. Common practice, no source: layouts exchange them, and the circuit is the same.

#include <algorithm>
#include <cctype>

#include <fmt/format.h>

#include "lowhiss/ordered/match_files.hpp"
#include "lowhiss/ordered/test_file.hpp"
#include "lowhiss/ordered/units.hpp"
#include "ordered/made_data.hpp"
#include "support/catch.hpp"
#include "support/memory_reader.hpp"

namespace lowhiss::ordered_units_test {
using namespace lowhiss::test;

const std::string head = R"(
input = { plus = "in", capsule = "c" }
output = { plus = "o4" }
capsule.c = { kind = "resistive", resistance = "200R" }
opamp.a = { open_loop_gain = "110 dB", gain_bandwidth = "10 MHz", pinout = "p" }
[pinout.p]
)";
const std::string dual = R"(
units = { A = { out = 1, minus = 2, plus = 3 }, B = { out = 7, minus = 6, plus = 5 } }
supply = [8, 4]
)";
const std::string quad = R"(
units = { A = { out = 1, minus = 2, plus = 3 }, B = { out = 7, minus = 6, plus = 5 }, C = { out = 8, minus = 9, plus = 10 }, D = { out = 14, minus = 13, plus = 12 } }
supply = [4, 11]
)";
const std::string chain = R"(
[parts]
R0 = { resistor = "22k", pins = ["in", "gnd"] }
RA = { resistor = "10k", pins = ["o1", "m1"] }
RB = { resistor = "1k", pins = ["m1", "gnd"] }
CA = { capacitor = "10u", pins = ["o1", "p2"] }
RC = { resistor = "47k", pins = ["p2", "gnd"] }
RD = { resistor = "10k", pins = ["o2", "m2"] }
RE = { resistor = "2k2", pins = ["m2", "gnd"] }
CB = { capacitor = "10u", pins = ["o2", "p3"] }
RF = { resistor = "47k", pins = ["p3", "gnd"] }
RG = { resistor = "10k", pins = ["o3", "m3"] }
RH = { resistor = "3k3", pins = ["m3", "gnd"] }
CC = { capacitor = "10u", pins = ["o3", "p4"] }
RI = { resistor = "47k", pins = ["p4", "gnd"] }
RJ = { resistor = "10k", pins = ["o4", "m4"] }
RK = { resistor = "4k7", pins = ["m4", "gnd"] }
)";

/// Four stages in the units that are named: "U1 A".
Board four_stages(const std::string& pinout, const std::vector<std::string>& units,
                  const std::string& board_keys = "") {
    std::string text = head + pinout + board_keys + chain;
    for (std::size_t k = 0; k < units.size(); ++k) {
        const std::string plus = k == 0 ? "in" : fmt::format("p{}", k + 1);
        text += fmt::format(
            "S{0} = {{ opamp = \"a\", device = \"{1}\", {2}plus = \"{3}\", minus = "
            "\"m{0}\", out = \"o{0}\" }}\n",
            k + 1, units[k].substr(0, 2),
            units[k].size() > 4 ? units[k].substr(3) + ", "
                                : fmt::format("unit = \"{}\", ", units[k].substr(3)),
            plus);
    }
    BoardReading reading = read_board("b.toml", memory_reader({{"b.toml", text}}));
    for (const Diagnostic& d : reading.diagnostics) UNSCOPED_INFO(to_text(d));
    REQUIRE(reading.board);
    return *std::move(reading.board);
}

const std::vector<std::string> two_duals{"U1 A", "U1 B", "U2 A", "U2 B"};

OrderedNets made_nets(const std::vector<MadePin>& pins) {
    Diagnostics out;
    auto source = std::make_shared<Source>(Source{"x.ipc", made_test_file(pins, {})});
    const auto nets = read_test_file(source, out);
    for (const Diagnostic& d : out) UNSCOPED_INFO(to_text(d));
    REQUIRE(nets);
    return *nets;
}

OrderedNets nets_of_board(const Board& board) {
    return made_nets(made_pins(board, true, 1));
}

std::string findings_of(const Match& match) {
    std::string text;
    for (const OrderFinding& finding : match.findings) {
        text += fmt::format("{}: {}\n", finding_title(finding.kind), finding.text);
    }
    return text;
}

std::vector<std::string> lines_on_units(const Match& match) {
    std::vector<std::string> lines;
    for (const std::string& note : match.notes) {
        if (note.find("units are exchanged") != std::string::npos) lines.push_back(note);
    }
    return lines;
}

TEST_CASE("exchanged halves are no fault, and one line says which", "[ordered]") {
    const Board board = four_stages(dual, two_duals);
    CHECK(match_units(board, nets_of_board(board)).units.empty());
    const auto exchanged =
        match_units(board, nets_of_board(four_stages(dual, {"U1 B", "U1 A", "U2 A", "U2 B"})));
    CHECK(findings_of(exchanged) == "");
    CHECK(lines_on_units(exchanged) ==
          std::vector<std::string>{
              "x.ipc: units are exchanged, which is not a fault: S1 is unit B of "
              "U1 instead of A, S2 is unit A instead of B"});
    CHECK(exchanged.units.size() == 2);
    // Compared by the numbers alone, it is not the same.
    CHECK_FALSE(
        match_nets(board, nets_of_board(four_stages(dual, {"U1 B", "U1 A", "U2 A", "U2 B"})))
            .findings.empty());
    const auto both =
        match_units(board, nets_of_board(four_stages(dual, {"U1 B", "U1 A", "U2 B", "U2 A"})));
    CHECK(findings_of(both) == "");
    CHECK(lines_on_units(both).size() == 2);
}

TEST_CASE("every order of the units of a quad is the same circuit", "[ordered]") {
    std::vector<std::string> units{"U1 A", "U1 B", "U1 C", "U1 D"};
    const Board board = four_stages(quad, units);
    int orders = 0;
    do {
        const Match match = match_units(board, nets_of_board(four_stages(quad, units)));
        INFO(fmt::format("{}", fmt::join(units, ", ")));
        CHECK(findings_of(match) == "");
        std::size_t moved = 0;
        for (std::size_t k = 0; k < units.size(); ++k) moved += units[k][3] != "ABCD"[k];
        CHECK(match.units.size() == moved);
        ++orders;
    } while (std::next_permutation(units.begin(), units.end()));
    CHECK(orders == 24);
}

TEST_CASE("a half that is not drawn may be the one that is used", "[ordered]") {
    const std::string unused = "[board]\nnot_simulated = [\"U2.5\", \"U2.6\", \"U2.7\"]\n";
    const Board board = four_stages(dual, {"U1 A", "U1 B", "U3 A", "U2 A"}, unused);
    auto pins = made_pins(four_stages(dual, {"U1 A", "U1 B", "U3 A", "U2 B"}), true, 1);
    // The unused half is a follower on ground.
    pins.push_back({"U2", "3", "GND"});
    pins.push_back({"U2", "2", "IDLE"});
    pins.push_back({"U2", "1", "IDLE"});
    const Match match = match_units(board, made_nets(pins));
    CHECK(findings_of(match) == "");
    CHECK(lines_on_units(match) ==
          std::vector<std::string>{"x.ipc: units are exchanged, which is not a fault: S4 is unit "
                                   "B of U2 instead of A"});
}

TEST_CASE("what an exchange does not explain stays as it is", "[ordered]") {
    const Board board = four_stages(dual, two_duals);
    const auto drawn = made_pins(board, true, 1);
    const auto at = [](const std::vector<MadePin>& pins, const char* device, const char* pin) {
        const auto found = std::find_if(pins.begin(), pins.end(), [&](const MadePin& each) {
            return each.device == device && each.pin == pin;
        });
        REQUIRE(found != pins.end());
        return static_cast<std::size_t>(found - pins.begin());
    };
    const auto exchange = [&](std::vector<MadePin> pins, const char* a, const char* b) {
        std::swap(pins[at(pins, "U1", a)].net, pins[at(pins, "U1", b)].net);
        return pins;
    };
    // One half's inputs; each pair of like pins; the two inputs of both halves, but not the
    // outputs.
    for (const auto& pins :
         {exchange(drawn, "2", "3"), exchange(drawn, "5", "6"), exchange(drawn, "1", "7"),
          exchange(drawn, "2", "6"), exchange(drawn, "3", "5"),
          exchange(exchange(drawn, "2", "6"), "3", "5")}) {
        const OrderedNets nets = made_nets(pins);
        const Match match = match_units(board, nets);
        CHECK_FALSE(match.findings.empty());
        CHECK(findings_of(match) == findings_of(match_nets(board, nets)));
        CHECK(lines_on_units(match).empty());
    }
}

TEST_CASE("a fault beside an exchange is told alone, and every one is found", "[ordered]") {
    const Board board = four_stages(dual, two_duals);
    const auto pins = made_pins(four_stages(dual, {"U1 B", "U1 A", "U2 A", "U2 B"}), true, 1);
    int exchanges = 0;
    for (std::size_t a = 0; a < pins.size(); ++a) {
        for (std::size_t b = a + 1; b < pins.size(); ++b) {
            const bool supply =
                pins[a].net.starts_with("SUPPLY") || pins[b].net.starts_with("SUPPLY");
            const bool one_part =
                pins[a].device == pins[b].device && find_part(board, pins[a].device) != nullptr;
            if (pins[a].net == pins[b].net || supply || one_part) continue;
            auto mutant = pins;
            std::swap(mutant[a].net, mutant[b].net);
            const Match match = match_units(board, made_nets(mutant));
            INFO(pins[a].device << "." << pins[a].pin << " and " << pins[b].device << "."
                                << pins[b].pin);
            CHECK_FALSE(match.findings.empty());
            ++exchanges;
        }
    }
    CHECK(exchanges > 600);
    auto open = pins;
    const auto output = std::find_if(open.begin(), open.end(), [](const MadePin& pin) {
        return pin.device == "RF" && pin.net == "P3";
    });
    REQUIRE(output != open.end());
    output->net = "ALONE";
    const Match match = match_units(board, made_nets(open));
    CHECK(match.findings.size() == 1);
    CHECK(lines_on_units(match).size() == 1);
}

TEST_CASE("units on pins of their own, or that are not alike, are not exchanged", "[ordered]") {
    const std::string numbered = "U1 numbers = { out = 1, minus = 2, plus = 3 }";
    const std::string other = "U1 numbers = { out = 7, minus = 6, plus = 5 }";
    const Board fixed = four_stages(dual, {numbered, other, "U2 A", "U2 B"});
    const Board turned = four_stages(dual, {other, numbered, "U2 A", "U2 B"});
    CHECK_FALSE(match_units(fixed, nets_of_board(turned)).findings.empty());
}

}  // namespace lowhiss::ordered_units_test
