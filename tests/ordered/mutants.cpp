// The data of demo boards, as layouts write it, and mutants of it: each single short, open,
// exchanged pair of pins, wrong value and missing part is found, and nothing where there is none.
// The columns of records are those of IPC-D-356A; dialects are common practice, no source.

#include <fmt/format.h>

#include <set>

#include "lowhiss/ordered/copper.hpp"
#include "lowhiss/ordered/match_files.hpp"
#include "lowhiss/ordered/test_file.hpp"
#include "lowhiss/ordered/units.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "ordered/made_data.hpp"
#include "support/catch.hpp"
#include "support/demo_board.hpp"
#include "support/memory_reader.hpp"

namespace lowhiss::ordered_mutants_test {
using namespace lowhiss::test;

const std::vector<std::string> demo_boards{"heron-c", "wren",     "curlew",
                                           "tern",    "dabchick", "plover-tee"};

std::shared_ptr<const Source> in_memory(const std::string& text) {
    return std::make_shared<Source>(Source{"made", text});
}

OrderedNets nets_of(const std::vector<MadePin>& pins, const TestFileDialect& dialect = {}) {
    Diagnostics out;
    const auto nets = read_test_file(in_memory(made_test_file(pins, dialect)), out);
    for (const Diagnostic& d : out) INFO(to_text(d));
    REQUIRE(nets);
    return *nets;
}

std::string text_of(const Match& match) {
    std::string text;
    for (const OrderFinding& finding : match.findings) {
        text += fmt::format("{}: {}\n", finding_title(finding.kind), finding.text);
    }
    return text;
}

/// Whether a finding names a pin of the device. Which pin cannot be told for a part that may be
/// fitted either way round and has no neighbour left.
bool names_device(const Match& match, const std::string& device) {
    return std::any_of(
        match.findings.begin(), match.findings.end(), [&](const OrderFinding& finding) {
            return std::any_of(
                finding.pins.begin(), finding.pins.end(),
                [&](const std::string& pin) { return pin.starts_with(device + "."); });
        });
}

bool may_be_turned(const Board& board, const std::string& device) {
    const Part* part = find_part(board, device);
    return part != nullptr && is_reversible(*part);
}

TEST_CASE("data that agrees has no finding, in every dialect", "[ordered]") {
    for (const std::string& name : demo_boards) {
        const Board board = demo_board(name);
        for (unsigned seed = 0; seed < 8; ++seed) {
            const auto pins = made_pins(board, seed % 2 == 1, seed);
            for (unsigned bits = 0; bits < 128; ++bits) {
                const TestFileDialect dialect{
                    (bits & 1U) != 0,  (bits & 2U) != 0,  (bits & 4U) != 0, (bits & 8U) != 0,
                    (bits & 16U) != 0, (bits & 32U) != 0, (bits & 64U) != 0};
                const Match match = match_units(board, nets_of(pins, dialect));
                INFO(name << " " << seed << " " << bits);
                REQUIRE(text_of(match).empty());
                REQUIRE(match.pins >= 15);
            }
            for (const bool as_comments : {false, true}) {
                Diagnostics out;
                const auto nets = read_copper({in_memory(made_copper(pins, as_comments))}, out);
                REQUIRE(nets);
                REQUIRE(text_of(match_units(board, *nets)).empty());
            }
        }
    }
}

TEST_CASE("every short, open, exchange and missing part is found", "[ordered]") {
    int shorts = 0;
    int opens = 0;
    int exchanges = 0;
    int missing = 0;
    for (const std::string& name : demo_boards) {
        const Board board = demo_board(name);
        const auto pins = made_pins(board, true, 1);
        std::map<std::string, std::vector<std::size_t>> nets;
        for (std::size_t k = 0; k < pins.size(); ++k) nets[pins[k].net].push_back(k);
        const std::string ground_net = upper_case(board.ground);
        for (auto a = nets.begin(); a != nets.end(); ++a) {
            for (auto b = std::next(a); b != nets.end(); ++b) {
                // Two nets of supply pins alone are not drawn, and are listed as not compared.
                if (a->first.starts_with("SUPPLY") && b->first.starts_with("SUPPLY")) continue;
                const bool supply =
                    a->first.starts_with("SUPPLY") || b->first.starts_with("SUPPLY");
                const std::string& drawn = a->first.starts_with("SUPPLY") ? b->first : a->first;
                const bool grounded = supply && drawn == ground_net;
                if (grounded) continue;  // one end of a supply may be ground
                auto mutant = pins;
                for (const std::size_t k : b->second) mutant[k].net = a->first;
                const Match match = match_units(board, nets_of(mutant));
                INFO(name << ": " << a->first << " with " << b->first << "\n" << text_of(match));
                REQUIRE(match.findings.size() >= 1);
                if (!supply) {
                    REQUIRE(match.findings.size() == 1);
                    REQUIRE(match.findings.front().kind == FindingKind::joined);
                    REQUIRE(names_device(match, pins[a->second.front()].device));
                    REQUIRE(names_device(match, pins[b->second.front()].device));
                }
                ++shorts;
            }
        }
        for (const auto& [net, list] : nets) {
            if (list.size() < 2 || net.starts_with("SUPPLY")) continue;
            for (const std::size_t k : list) {
                auto mutant = pins;
                mutant[k].net = "ALONE";
                const Match match = match_units(board, nets_of(mutant));
                INFO(name << ": " << mutant[k].device << "." << mutant[k].pin << "\n"
                          << text_of(match));
                REQUIRE(match.findings.size() == 1);
                REQUIRE(names_device(match, pins[k].device));
                ++opens;
            }
        }
        for (std::size_t a = 0; a < pins.size(); ++a) {
            for (std::size_t b = a + 1; b < pins.size(); ++b) {
                if (pins[a].net == pins[b].net || pins[a].net.starts_with("SUPPLY") ||
                    pins[b].net.starts_with("SUPPLY"))
                    continue;
                auto mutant = pins;
                std::swap(mutant[a].net, mutant[b].net);
                const Match match = match_units(board, nets_of(mutant));
                INFO(name << ": " << pins[a].device << "." << pins[a].pin << " and "
                          << pins[b].device << "." << pins[b].pin << "\n"
                          << text_of(match));
                const bool one_part =
                    pins[a].device == pins[b].device && may_be_turned(board, pins[a].device);
                // If both nets have two pins and the other two are of one part, that part is
                // turned.
                const auto& on_a = nets[pins[a].net];
                const auto& on_b = nets[pins[b].net];
                bool turns_other = on_a.size() == 2 && on_b.size() == 2;
                if (turns_other) {
                    const std::size_t other_a = on_a[0] == a ? on_a[1] : on_a[0];
                    const std::size_t other_b = on_b[0] == b ? on_b[1] : on_b[0];
                    turns_other = pins[other_a].device == pins[other_b].device &&
                                  may_be_turned(board, pins[other_a].device);
                }
                REQUIRE(match.findings.empty() == (one_part || turns_other));
                ++exchanges;
            }
        }
        std::set<std::string> devices;
        for (const MadePin& pin : pins) devices.insert(pin.device);
        for (const std::string& device : devices) {
            auto mutant = pins;
            std::erase_if(mutant, [&](const MadePin& pin) { return pin.device == device; });
            const Match match = match_units(board, nets_of(mutant));
            INFO(name << ": " << device << "\n" << text_of(match));
            REQUIRE(match.findings.size() == 1);
            REQUIRE(match.findings.front().kind == FindingKind::missing_part);
            REQUIRE(match.findings.front().pins.front() == device);
            ++missing;
        }
    }
    CHECK(shorts > 700);
    CHECK(opens > 250);
    CHECK(exchanges > 5000);
    CHECK(missing > 100);
    WARN(fmt::format("found: {} shorts, {} opens, {} exchanged pairs, {} missing parts", shorts,
                     opens, exchanges, missing));
}

TEST_CASE("every wrong value in a list of materials is found, and no right one", "[ordered]") {
    int wrong = 0;
    for (const std::string& name : demo_boards) {
        const Board board = demo_board(name);
        for (const char separator : {',', ';', '\t'}) {
            for (const bool comma : {false, true}) {
                for (const bool grouped : {false, true}) {
                    Diagnostics out;
                    const auto list = read_materials(
                        in_memory(made_materials(board, {separator, comma, grouped})), {}, out);
                    for (const Diagnostic& d : out) INFO(to_text(d));
                    REQUIRE(list);
                    REQUIRE(text_of(match_materials(board, *list)).empty());
                }
            }
        }
        for (const Part& part : board.parts) {
            if (!has_tolerance(part)) continue;
            const auto& field = schema_of(part).fields.front();
            Part copy = part;
            field.slot(copy.data) *= 1.2;
            Diagnostics out;
            const auto list = read_materials(
                in_memory(made_materials(board, {}, {{part.name, made_value(copy)}})), {}, out);
            REQUIRE(list);
            const Match match = match_materials(board, *list);
            INFO(name << " " << part.name << "\n" << text_of(match));
            REQUIRE(match.findings.size() == 1);
            REQUIRE(match.findings.front().kind == FindingKind::value);
            REQUIRE(match.findings.front().pins.front() == part.name);
            ++wrong;
        }
    }
    CHECK(wrong > 70);
    WARN(fmt::format("found: {} wrong values", wrong));
}

}  // namespace lowhiss::ordered_mutants_test
