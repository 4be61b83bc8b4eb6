// The data that four demo boards are ordered by, in netlists/ordered/, as our generator writes it,
// and what `draft` makes of Heron's. LOWHISS_APPROVE=1 writes the files anew.

#include <filesystem>
#include <fstream>
#include <map>

#include "docs/approve.hpp"
#include "lowhiss/ordered/draft.hpp"
#include "lowhiss/promise/check.hpp"
#include "ordered/made_data.hpp"
#include "support/catch.hpp"
#include "support/demo_board.hpp"
#include "support/memory_reader.hpp"

namespace lowhiss::ordered_demo_test {
using namespace lowhiss::test;

const std::string folder = LOWHISS_SOURCE_DIR "/netlists/ordered/";

Board heron() {
    return demo_board("heron-c");
}

/// A board and the layout that it has in the demo.
struct Layout {
    std::string board;
    std::map<std::string, std::string> rails;  ///< nets of supply pins that are not drawn
    std::vector<MadePin> others;               ///< pins of what else is not drawn
    TestFileDialect test_file;
    bool copper_as_comments = false;
    MaterialsDialect materials;
};

const std::vector<Layout>& layouts() {
    static const std::vector<Layout> all{
        {"heron-c",
         {{"SUPPLY7", "VCC"}, {"SUPPLY4", "VEE"}},
         {{"C20", "1", "VCC"},
          {"C20", "2", "GND"},
          {"C21", "1", "GND"},
          {"C21", "2", "VEE"},
          {"J1", "1", "GND"},
          {"J3", "1", "VCC"},
          {"J3", "2", "GND"},
          {"J3", "3", "VEE"}},
         {},
         false,
         {';', true, true}},
        // Solder bridges, batteries, converters, variants; one has a list of its own, see below.
        {"heron-d", {}, {{"J1", "1", "GND"}}, {.garbage = true}, true, {',', false, true}},
        // Transistors; both supplies come by a connector.
        {"redshank",
         {},
         {{"J1", "1", "GND"}, {"J2", "1", "GND"}},
         {.aliases = true},
         false,
         {'\t', false, false}},
        // One half of a dual op-amp; the other is a follower at ground.
        {"tern",
         {{"SUPPLY8", "VCC"}, {"SUPPLY4", "VEE"}},
         {{"U1", "5", "GND"},
          {"U1", "6", "SPARE"},
          {"U1", "7", "SPARE"},
          {"J1", "1", "GND"},
          {"J2", "1", "GND"},
          {"J3", "1", "VCC"},
          {"J3", "2", "GND"},
          {"J3", "3", "VEE"}},
         {.continuations = true, .invented_nets = true, .crlf = true},
         true,
         {';', true, false}},
    };
    return all;
}

std::vector<MadePin> layout_pins(const Layout& layout, const Board& board) {
    auto pins = made_pins(board, true, 3);
    for (MadePin& pin : pins) {
        const auto rail = layout.rails.find(pin.net);
        if (rail != layout.rails.end()) pin.net = rail->second;
    }
    pins.insert(pins.end(), layout.others.begin(), layout.others.end());
    return pins;
}

void same_as_file(const std::string& name, const std::string& text) {
    const std::string path = folder + name;
    if (std::getenv("LOWHISS_APPROVE")) {
        std::filesystem::create_directories(folder);
        std::ofstream(path, std::ios::binary) << text;
    }
    const auto content = disk_reader()(path);
    REQUIRE(std::get_if<std::string>(&content));
    CHECK(std::get<std::string>(content) == text);
}

Ordered heron_data() {
    Diagnostics out;
    const auto data = read_ordered({{folder + "heron-c.ipc", folder + "heron-c.csv"}, {}, {}},
                                   disk_reader(), out);
    for (const Diagnostic& d : out) INFO(to_text(d));
    REQUIRE(data);
    return *data;
}

TEST_CASE("the demo data is that of the boards, and agrees", "[ordered]") {
    for (const Layout& layout : layouts()) {
        const std::string& name = layout.board;
        INFO(name);
        const Board board = demo_board(name);
        const auto pins = layout_pins(layout, board);
        same_as_file(name + ".ipc", made_test_file(pins, layout.test_file));
        same_as_file(name + "-top.gbr", made_copper(pins, layout.copper_as_comments));
        same_as_file(name + ".csv", made_materials(board, layout.materials));
        std::vector<MatchReport> reports;
        for (const char* nets : {".ipc", "-top.gbr"}) {
            Diagnostics out;
            const auto data = read_ordered({{folder + name + nets, folder + name + ".csv"}, {}, {}},
                                           disk_reader(), out);
            for (const Diagnostic& d : out) UNSCOPED_INFO(to_text(d));
            REQUIRE(data);
            reports.push_back(match_ordered(board, *data));
            for (const auto& each : reports.back().findings) UNSCOPED_INFO(each.finding.text);
            CHECK(reports.back().findings.empty());
        }
        CHECK(reports[0].parts >= 15);
        CHECK(reports[0].pins >= 30);
        CHECK(reports[1].pins == reports[0].pins);
    }
}

TEST_CASE("the list of an assembly agrees with it and with no other", "[ordered]") {
    const Board board = demo_board("heron-d");
    const Board lithium = with_variant(board, find_variant(board, "lithium"));
    same_as_file("heron-d-lithium.csv", made_materials(lithium, {',', false, true}));
    const auto findings = [&](const char* variant) {
        Diagnostics out;
        const auto data = read_ordered(
            {{folder + "heron-d.ipc"}, {{variant, folder + "heron-d-lithium.csv"}}, {}},
            disk_reader(), out);
        for (const Diagnostic& d : out) UNSCOPED_INFO(to_text(d));
        REQUIRE(data);
        return match_ordered(board, *data).findings.size();
    };
    CHECK(findings("lithium") == 0);
    CHECK(findings("inverted") == 5);  // two batteries not listed; a cell and two converters are
}

TEST_CASE("the starter board is read without a word", "[ordered]") {
    const BoardReading reading =
        read_board("starter.toml", memory_reader({{"starter.toml", starter_board()}}));
    for (const Diagnostic& d : reading.diagnostics) UNSCOPED_INFO(to_text(d));
    CHECK(reading.board);
    CHECK(reading.diagnostics.empty());
}

TEST_CASE("a draft is refused where it has to be filled in, and nowhere else", "[ordered]") {
    const std::string text = draft_text(heron_data(), {{"J1.2", "J1.3"}, {"J2.2"}});
    const BoardReading reading = read_board("d.toml", memory_reader({{"d.toml", text}}));
    CHECK_FALSE(reading.board);
    for (const Diagnostic& d : reading.diagnostics) {
        INFO(to_text(d));
        const auto begin = text.begin();
        std::string line(begin, text.end());
        for (int k = 1; k < d.at.line; ++k) line = line.substr(line.find('\n') + 1);
        line = line.substr(0, line.find('\n'));
        CHECK(line.find("fill") != std::string::npos);
    }
}

/// Finishes the draft as a hand would: takes the drafted nodes of each part, with the figures,
/// models, tapers and bridges of the board file, and its terminals by the connectors' nodes.
Board completed(const Board& board, const std::string& draft) {
    std::string text = draft;
    const auto replace = [&](const std::string& from, const std::string& to) {
        const auto at = text.find(from);
        INFO(from);
        REQUIRE(at != std::string::npos);
        text.replace(at, from.size(), to);
    };
    // The nodes of the ICs' pins stand in the draft: put them where the data sheet has them.
    for (const auto& [name, keys] : std::vector<std::pair<std::string, std::string>>{
             {"U1", "preamp_ic = \"one-resistor-10k\""}, {"U2", "opamp = \"fet-low-noise\""}}) {
        const auto at = text.find(name + " = { fill_in");
        REQUIRE(at != std::string::npos);
        const std::string line = text.substr(at, text.find('\n', at) - at);
        const auto node = [&](const std::string& pin) {
            const auto from = line.find(" " + pin + " = \"");
            REQUIRE(from != std::string::npos);
            const auto start = from + pin.size() + 4;
            return line.substr(start, line.find('"', start + 1) - start + 1);
        };
        std::string filled = fmt::format("{} = {{ {}, plus = {}, minus = {}, out = {}", name, keys,
                                         node("3"), node("2"), node("6"));
        if (name == "U1") {
            filled += fmt::format(", gain_pins = [{}, {}], reference = {}", node("1"), node("8"),
                                  node("5"));
        }
        replace(line, filled + " }");
    }
    for (const Part& part : board.parts) {
        if (const auto* link = std::get_if<Link>(&part.data)) {
            replace(part.name + " = { link = \"fill in\"",
                    part.name + (link->closed ? " = { link = \"closed\"" : " = { link = \"open\""));
        }
    }
    replace("taper = \"fill in\"", "taper = \"reverse-log\"");
    replace("capsule = \"fill in\"", "capsule = \"dynamic-200\"");
    replace("# include = [\"opamps.toml\"]",
            "include = [\"../models/opamps.toml\", \"../models/preamp_ics.toml\", "
            "\"../capsules/capsules.toml\"]");
    // C20 and C21 have no value in the list, and no part in the signal: a hand takes them out.
    for (const char* name : {"C20", "C21"}) {
        const auto at = text.find(std::string(name) + " = {");
        REQUIRE(at != std::string::npos);
        text.erase(at, text.find('\n', at) + 1 - at);
    }
    const std::string path = LOWHISS_SOURCE_DIR "/netlists/boards/drafted.toml";
    const FileReader disk = disk_reader();
    BoardReading reading = read_board(path, [&](const std::string& name) {
        return name == path ? FileReader::Content(text) : disk(name);
    });
    for (const Diagnostic& d : reading.diagnostics) UNSCOPED_INFO(to_text(d));
    REQUIRE(reading.board);
    Board made = *std::move(reading.board);
    for (Part& part : made.parts) {
        const Part* drawn = find_part(board, part.name);
        REQUIRE(drawn);
        // The value came from the list; the hand adds what no list has.
        if (has_tolerance(part)) {
            const auto& field = schema_of(part).fields.front();
            Part copy = *drawn;
            REQUIRE(field.slot(part.data) == field.slot(copy.data));
        }
        part.data = drawn->data;
    }
    made.output.load_ohm = board.output.load_ohm;
    made.output.cable_f = board.output.cable_f;
    made.knob = board.knob;
    return made;
}

TEST_CASE("a draft of Heron that is completed has its figures to the last digit", "[ordered]") {
    Board board = heron();
    board.variants.clear();
    const Board made =
        completed(board, draft_text(heron_data(), {{"J1.2", "J1.3"}, {"J2.2", "J2.1"}}));
    CHECK(made.parts.size() == board.parts.size());
    const auto results =
        check_boards(std::vector<CheckRequest>{{&board, {}, true}, {&made, {}, true}});
    REQUIRE(results[0].figures.size() == results[1].figures.size());
    REQUIRE(results[0].figures.size() > 50);
    for (std::size_t k = 0; k < results[0].figures.size(); ++k) {
        const Figure& a = results[0].figures[k];
        const Figure& b = results[1].figures[k];
        const Drift allowed = drift_allowed(board, *a.figure->measure->schema);
        INFO(key_of(a));
        CHECK(key_of(a) == key_of(b));
        CHECK(recorded_text(a, allowed) == recorded_text(b, allowed));
    }
}

}  // namespace lowhiss::ordered_demo_test
