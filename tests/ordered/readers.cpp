// Readers of ordered data accept what writers make of the formats (common practice, no source). The
// formats are those of IPC-D-356A and The Gerber Layer Format Specification, section 5.6.

#include <fmt/format.h>

#include "lowhiss/ordered/copper.hpp"
#include "lowhiss/ordered/csv_table.hpp"
#include "lowhiss/ordered/match_files.hpp"
#include "lowhiss/ordered/materials.hpp"
#include "lowhiss/ordered/test_file.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"

namespace lowhiss::ordered_readers_test {

std::shared_ptr<const Source> file_of(const std::string& text) {
    return std::make_shared<Source>(Source{"data", text});
}

/// "R1.2 NET; ..." of each pin, and the errors.
std::string pins_of(const std::string& text) {
    Diagnostics out;
    const auto nets =
        is_layer(text) ? read_copper({file_of(text)}, out) : read_test_file(file_of(text), out);
    std::string result;
    for (const Diagnostic& d : out) result += d.found + ";";
    if (!nets) return result;
    for (const OrderedPin& pin : nets->pins) {
        result += pin.device + "." + pin.pin + " " + (pin.net.empty() ? "-" : pin.net) + ";";
    }
    for (const OrderedPin& pin : nets->conflicts)
        result += "also " + pin.device + "." + pin.pin + ";";
    for (const std::string& device : nets->cut_devices) result += "cut " + device + ";";
    return result;
}

TEST_CASE("records of a test file", "[ordered]") {
    // Columns as in the standard's example: net 4 to 17, designator 21 to 26, dash 27, pin 28
    // to 31.
    const std::string two = "317A                R1    -1\n317A                R2    -1\n";
    CHECK(pins_of(two) == "R1.1 A;R2.1 A;");
    CHECK(pins_of(two + "327N/C              R1    -2\n327                 R2    -2\n") ==
          "R1.1 A;R2.1 A;R1.2 -;R2.2 -;");
    CHECK(pins_of(two + "327B                J-1   -A12\n") == "R1.1 A;R2.1 A;J-1.A12 -;");
    CHECK(pins_of(two + "327A                R3-2\n") == "R1.1 A;R2.1 A;R3.2 A;");
    CHECK(pins_of(two + "999\n327A                R9    -1\n") == "R1.1 A;R2.1 A;");
    CHECK(pins_of(two + "\r\n379 \n garbage\n367                 REF**       D1260U\n") ==
          "R1.1 A;R2.1 A;");
    CHECK(pins_of(two + "327B                R1    -1\n327B                R4    -1\n") ==
          "R1.1 A;R2.1 A;R4.1 B;also R1.1;");
    CHECK(pins_of(two + "327A                SW_XNO-1\n327B                SW_XNO-1\n") ==
          "R1.1 A;R2.1 A;cut SW_XNO;");
    CHECK(pins_of("C  NNAME7  A LONG NAME\n327NNAME7           R1    -1\n327NNAME7           R2    "
                  "-1\n") == "R1.1 A LONG NAME;R2.1 A LONG NAME;");
    CHECK(
        pins_of("P  NNAME7  LONG\n3277                R1    -1\n3277                R2    -1\n") ==
        "R1.1 LONG;R2.1 LONG;");
}

TEST_CASE("a test file that says nothing of connections is refused", "[ordered]") {
    CHECK(pins_of("P  JOB X\n999\n") == "no line is a test record;");
    CHECK(pins_of("327A                R1    -1\n327B                R1    -2\n") ==
          "no two pins are on one net: the file says nothing about connections;");
}

TEST_CASE("object attributes of copper layers", "[ordered]") {
    const std::string head = "%FSLAX46Y46*%\n";
    CHECK(pins_of(head +
                  "%TO.P,R1,1*%%TO.N,A\\u002CB*%X0Y0D03*%TD*%%TO.P,R2,1,in*%%TO.N,A\\u002CB*%"
                  "X1Y1D03*%TO.P,R2,2*%%TO.N,*%X2Y2D3*X3Y3D02*%TD.P*%X1Y1D01*M02*") ==
          "R1.1 A,B;R2.1 A,B;R2.2 -;");
    CHECK(pins_of("G04 made*\nG04 #@! TO.P,R1,1*\nG04 #@! TO.N,X*\nX0Y0D03*\nG04 #@! TO.P,R2,1*\n"
                  "X1Y0D03*\n") == "R1.1 X;R2.1 X;");
    CHECK(pins_of(head + "X0Y0D03*") == "no pad has a designator and pin;");
}

TEST_CASE("values as lists of materials write them", "[ordered]") {
    const auto value = [](const char* text, Unit unit) {
        const auto found = listed_value(text, unit);
        return found ? found->value : unset;
    };
    for (const char* text : {"4k7", "4.7k", "4,7k", "4K7", "4.7 k", "4k7 1% 0603", "4,7 kOhm",
                             "R 4k7", "0603 4k7", "4700"}) {
        INFO(text);
        CHECK(value(text, Unit::ohm) == 4700);
    }
    for (const char* text : {"100n", "100nF/50V", "100n/50V", "0.1u", "0,1uF X7R 10%", "100 nF"}) {
        INFO(text);
        CHECK(std::abs(value(text, Unit::farad) / 100e-9 - 1) < 1e-12);  // rounding of 0.1u
    }
    CHECK(listed_value("22R 1% 0603", Unit::ohm)->tolerance == 0.01);
    CHECK(listed_value("22R \u00B1 5 %", Unit::ohm)->tolerance == 0.05);
    CHECK_FALSE(listed_value("104", Unit::farad));  // a code, not farads
    CHECK_FALSE(listed_value("see note", Unit::ohm));
}

TEST_CASE("designators of one cell", "[ordered]") {
    using List = std::vector<std::string>;
    CHECK(designators_in("R1, R2 R4-R6;R9") == List{"R1", "R2", "R4", "R5", "R6", "R9"});
    CHECK(designators_in("R1 - R3, C7..C8, D1-3") ==
          List{"R1", "R2", "R3", "C7", "C8", "D1", "D2", "D3"});
    CHECK(designators_in("J-1, R9-R4, X1-X99999") == List{"J-1", "R9-R4", "X1-X99999"});
}

std::string utf16(const std::string& ascii, bool mark) {
    std::string bytes = mark ? "\xFF\xFE" : "";
    for (const char c : ascii) bytes += {c, '\0'};
    return bytes;
}

TEST_CASE("lists of materials in every encoding, with every separator", "[ordered]") {
    const std::string rows =
        "Ref;Qty;Value\r\nR1, R2;2;\"4,7k\"\r\n\"C1\";1;\"a \"\"b\"\"\n100n\"\r\n";
    for (const std::string& bytes : {rows, "\xEF\xBB\xBF" + rows, utf16(rows, true),
                                     utf16(rows, false), rows + "X9;1;caf\xE9\n"}) {
        Diagnostics out;
        const auto list = read_materials(file_of(bytes), {}, out);
        REQUIRE(list);
        REQUIRE(list->items.size() >= 3);
        CHECK(list->items[1].device == "R2");
        CHECK(list->items[1].value == "4,7k");
        CHECK(list->items[1].at.line == 2);
        CHECK(list->items[2].value == "a \"b\"\n100n");
    }
}

std::string fault_of_list(const std::string& text, const MaterialsOptions& options = {}) {
    Diagnostics out;
    const auto list = read_materials(file_of(text), options, out);
    CHECK(list.has_value() == out.empty());
    return out.empty() ? "" : out.front().found + " | " + out.front().advice;
}

TEST_CASE("lists of materials that cannot be used", "[ordered]") {
    CHECK(fault_of_list("Pos,What\n1,2\n") ==
          "it is not clear which column has the designators | name it: --columns designator=NAME");
    CHECK(fault_of_list("Pos,What\nR1,2k\n", {"Pos", "What", {}}).empty());
    CHECK(fault_of_list("Ref,Value\nR1,\"2k\n") == "a quote is never closed | ");
    CHECK(fault_of_list("one column\n") == "the first line has only one column | ");
    CHECK(fault_of_list("") == "the file is empty | ");
    CHECK(fault_of_list("Ref,Value\n,\n") == "no row has a designator | ");
}

const std::string drawn = R"([parts]
C1 = { capacitor = "10u", pins = ["a", "b"], polarised = true, tolerance = "20 %" }
R1 = { resistor = "1k", pins = ["a", "gnd"] }
R3 = { resistor = "1k", pins = ["a", "gnd"] }
R2 = { resistor = "1k", pins = ["b", "gnd"], fitted = false }
SB1 = { link = "open", pins = ["a", "b"] }
[input]
plus = "a"
[output]
plus = "b"
)";

/// The findings of the board above against data.
std::string findings(const std::string& test_file, const std::string& materials = "",
                     const std::string& board = drawn) {
    Ordered ordered;
    Diagnostics out;
    if (!test_file.empty()) ordered.nets.push_back(*read_test_file(file_of(test_file), out));
    if (!materials.empty()) {
        ordered.materials.emplace_back("plain", *read_materials(file_of(materials), {}, out));
    }
    std::string text;
    for (const ReportedFinding& each :
         match_ordered(test::board_from_text(board), ordered).findings) {
        text += std::string(finding_title(each.finding.kind)) + ": " + each.finding.text + "\n";
    }
    return text;
}

std::string record(const char* net, const char* device, const char* pin) {
    return fmt::format("327{:<14}   {:<6}-{}\n", net, device, pin);
}

std::string data(const char* c1_1, const char* c1_2) {
    return record(c1_1, "C1", "1") + record(c1_2, "C1", "2") + record("A", "R1", "1") +
           record("G", "R1", "2") + record("A", "R3", "1") + record("G", "R3", "2") +
           record("B", "R2", "2") + record("G", "R2", "1") + record("A", "SB1", "2") +
           record("B", "SB1", "1");
}

TEST_CASE("a polarised part the wrong way round is told, others may be turned", "[ordered]") {
    CHECK(findings(data("A", "B")).empty());
    CHECK(findings(data("B", "A")) ==
          "turned part: C1 is the wrong way round: C1.1 should be on node 'a', C1.2 on node 'b'\n");
}

TEST_CASE("a name that may have been cut is no short, and no agreement", "[ordered]") {
    const std::string cut = "ABCDEFGHIJKLMN";
    std::string text = data("A", "B");
    for (auto at = text.find("327A "); at != std::string::npos; at = text.find("327A ")) {
        text.replace(at, 17, "327" + cut);
    }
    CHECK(findings(text).empty());
    for (auto at = text.find("327B "); at != std::string::npos; at = text.find("327B ")) {
        text.replace(at, 17, "327" + cut);
    }
    CHECK(findings(text).starts_with("not known: "));
}

TEST_CASE("parts that are listed, fitted or of another value", "[ordered]") {
    CHECK(findings("", "Ref,Value\nC1,10u 20%\nR1,1k\nR3,1k\n").empty());
    CHECK(findings("", "Ref,Value\nC1,10u 10%\nR1,1k2\nR3,1k\nSB1,0R\nR2,1k\nX1,?\n") ==
          "extra part: 'X1' is in the data and not drawn; if it is meant, name it in not_simulated "
          "or [off_board]\n"
          "value: C1 has a tolerance of 20 % in the drawing, of 10 % in the list of materials\n"
          "value: R1 is 1 k\u03A9 in the drawing, '1k2' in the list of materials\n"
          "not fitted: R2 is not fitted in the drawing, and the list of materials fits it\n"
          "not fitted: SB1 is an open link in the drawing, and the list of materials fits it\n");
    CHECK(findings("", "Ref,Value\nC1,10u\nR3,1k\n") ==
          "not listed: R1 is drawn as fitted and not in the list of materials\n");
}

}  // namespace lowhiss::ordered_readers_test
