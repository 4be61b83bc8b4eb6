// The museum of bad input. bad/NAME.toml has one mistake (a few have several), bad/NAME.expected
// has the exact diagnostics. odd/ has files that look wrong and are not. The folders named files/
// have the files that these refer to.
//
// After a deliberate change of a message, LOWHISS_APPROVE=1 lowhiss_tests "[museum]" rewrites the
// .expected files. Read the difference before you commit it.

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <random>
#include <set>

#include "docs/approve.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::museum_test {
using namespace lowhiss::test;

namespace fs = std::filesystem;

using Files = std::map<std::string, std::string>;  // path, content

const fs::path museum = fs::path(LOWHISS_TESTS_DIR) / "museum";
const fs::path netlists = fs::path(LOWHISS_SOURCE_DIR) / "netlists";

/// The names of a folder's files with an ending, without it, in order.
std::vector<std::string> names_in(const fs::path& folder, const std::string& ending) {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder)) {
        if (entry.path().extension() == ending) names.push_back(entry.path().stem().string());
    }
    std::sort(names.begin(), names.end());
    return names;
}

/// Reads with paths relative to the museum, so that messages are the same in any checkout.
BoardReading read_exhibit(const std::string& path) {
    const FileReader disk = disk_reader();
    return read_board(path,
                      [&](const std::string& name) { return disk((museum / name).string()); });
}

/// Whether a terminal would interpret a byte: ASCII controls and, in UTF-8, U+0080 to U+009F.
bool has_raw_control(std::string_view text) {
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        const bool c1 =
            byte == 0xC2 && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0xA0;
        if (c1 || byte == 0x7F || (byte < 0x20 && byte != '\n' && byte != '\t')) return true;
    }
    return false;
}

void approve(const fs::path& expected, const std::string& text) {
    if (fs::exists(expected) && file_text(expected.string()) == text) return;
    std::ofstream(expected, std::ios::binary) << text;
    WARN("approved " << expected.filename().string());
}

/// Every code that read_board can give. A new one needs an exhibit.
const std::set<std::string> codes{
    "too-many-entries",
    "too-many-settings",
    "unknown-fault",
    "unknown-feed",
    "no-pins",
    "not-a-supply",
    "bad-line",
    "bad-device-pin",
    "bad-pin-number",
    "unknown-pinout",
    "unknown-series",
    "unknown-unit",
    "bad-mask",
    "bad-polarity",
    "bad-feed",
    "bad-battery",
    "bad-bias-loss",
    "bad-bandwidth",
    "bad-range",
    "bad-spread",
    "bad-state",
    "bad-taper",
    "bad-tie",
    "bad-value",
    "duplicate-key",
    "duplicate-limit",
    "duplicate-model",
    "duplicate-position",
    "empty-band",
    "empty-limit",
    "empty-list",
    "empty-range",
    "empty-text",
    "file-cycle",
    "impedance-file",
    "invisible-character",
    "missing-key",
    "missing-table",
    "not-in-a-library",
    "knob-not-potentiometer",
    "matched-alone",
    "matched-twice",
    "matched-without-value",
    "merge-conflict",
    "nothing-to-remove",
    "out-of-range",
    "part-twice",
    "reserved-name",
    "shorted-terminals",
    "similar-node",
    "syntax",
    "two-kinds",
    "unknown-capsule",
    "unknown-key",
    "unknown-kind",
    "unknown-measure",
    "unknown-model",
    "unknown-node",
    "unknown-part",
    "unknown-variant",
    "unreadable-file",
    "unusual-value",
    "useless-key",
    "value-twice",
    "vanishing-value",
    "worst-without-typical",
    "wrong-kind",
    "wrong-pin-count",
};

TEST_CASE("each mistake has exactly the expected diagnostics", "[museum]") {
    for (const std::string& name : names_in(museum / "bad", ".toml")) {
        DYNAMIC_SECTION(name) {
            const BoardReading reading = read_exhibit("bad/" + name + ".toml");
            const std::string text = all_text(reading.diagnostics);
            const fs::path expected = museum / "bad" / (name + ".expected");
            if (approving()) approve(expected, text);
            CHECK_FALSE(reading.board);
            CHECK(has_errors(reading.diagnostics));
            CHECK_FALSE(has_raw_control(text));
            REQUIRE(fs::exists(expected));
            CHECK(text == file_text(expected.string()));
        }
    }
}

TEST_CASE("odd files are read without diagnostics", "[museum]") {
    for (const std::string& name : names_in(museum / "odd", ".toml")) {
        DYNAMIC_SECTION(name) {
            const BoardReading reading = read_exhibit("odd/" + name + ".toml");
            CHECK(all_text(reading.diagnostics) == "");
            CHECK(reading.board);
        }
    }
}

TEST_CASE("the museum is complete", "[museum]") {
    const auto exhibits = names_in(museum / "bad", ".toml");
    CHECK(exhibits.size() >= 75);
    CHECK(names_in(museum / "bad", ".expected") == exhibits);
    std::set<std::string> shown;
    for (const std::string& name : exhibits) {
        const BoardReading reading = read_exhibit("bad/" + name + ".toml");
        for (const Diagnostic& d : reading.diagnostics) shown.insert(d.code);
    }
    CHECK(shown == codes);
}

TEST_CASE("files may not refer to each other without end", "[museum]") {
    Files files;
    for (int i = 0; i < 200; ++i) {
        files[fmt::format("{}.toml", i)] = fmt::format("board.based_on = \"{}.toml\"", i + 1);
    }
    const BoardReading reading = read_board("0.toml", memory_reader(files));
    CHECK(all_text(reading.diagnostics) ==
          "99.toml:1:18: error: files refer to each other more than 100 levels deep "
          "[nesting-too-deep]\n"
          "    1 | board.based_on = \"100.toml\"\n"
          "      |                  ^\n");
}

/// Adds all files below a folder, under the paths that a reader asks for.
void load(const fs::path& folder, const std::string& prefix, Files& files) {
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        if (!entry.is_regular_file()) continue;
        const std::string path = prefix + entry.path().lexically_relative(folder).generic_string();
        files[path] = file_text(entry.path().string());
    }
}

/// Makes one to four random changes, as typing errors or a failing disk would.
std::string mutated(std::string text, std::mt19937& random) {
    static constexpr std::string_view letters = "[]{}=,.\"'#\\\n\r\t 0e-\x00\x1b\x80\xc2\xff";
    const auto below = [&](std::size_t bound) { return bound == 0 ? 0 : random() % bound; };
    for (std::size_t slips = 1 + below(4); slips > 0; --slips) {
        const std::size_t at = below(text.size());
        const std::string span = text.substr(at, below(40));
        switch (below(6)) {
            case 0:
                if (!text.empty()) text[at] = static_cast<char>(random());
                break;
            case 1:
                if (!text.empty()) text[at] = letters[below(letters.size())];
                break;
            case 2:
                text.erase(at, span.size());
                break;
            case 3:
                text.insert(at, span);
                break;
            case 4:
                text.insert(below(text.size()), span);
                break;
            default:
                if (below(4) == 0) text.resize(at);
        }
    }
    return text;
}

/// Reads a board with one file mutated. Any bytes must give a board or an error, and no diagnostic
/// with bytes that a terminal would interpret.
void read_mutated(const std::string& board, const std::string& file, const Files& files,
                  std::mt19937& random) {
    const std::string text = mutated(files.at(file), random);
    const BoardReading reading =
        read_board(board, [&](const std::string& path) -> std::variant<std::string, Unreadable> {
            if (path == file) return text;
            const auto found = files.find(path);
            if (found == files.end()) return Unreadable{"there is no such file"};
            return found->second;
        });
    const bool as_promised = reading.board.has_value() != has_errors(reading.diagnostics) &&
                             !has_raw_control(all_text(reading.diagnostics));
    if (as_promised) return;
    CAPTURE(board, file, text);
    CHECK(as_promised);
}

constexpr int rounds = 200;

TEST_CASE("whatever happens to a museum file, reading it ends in a board or an error",
          "[museum][mutation]") {
    Files files;
    load(museum, "", files);
    std::mt19937 random(20240607);
    for (const auto& [path, text] : files) {
        const bool exhibit = path.ends_with(".toml") && path.find("/files/") == std::string::npos;
        for (int i = 0; exhibit && i < rounds; ++i) read_mutated(path, path, files, random);
    }
    SUCCEED();
}

TEST_CASE("whatever happens to a demo board or its files, reading it ends in a board or an error",
          "[museum][mutation]") {
    Files files;
    load(netlists, "", files);
    std::mt19937 random(20240608);
    for (const auto& [path, text] : files) {
        if (path.starts_with("pictures/")) continue;
        const bool board = path.starts_with("boards/");
        for (int i = 0; i < rounds; ++i) {
            read_mutated(board ? path : "boards/heron-c.toml", path, files, random);
        }
    }
    SUCCEED();
}

}  // namespace lowhiss::museum_test
