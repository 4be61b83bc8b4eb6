// The commands that the pages show in console blocks are run, and what they print is compared. With
// LOWHISS_APPROVE=1 the blocks are rewritten.

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <vector>

#include "pages.hpp"
#include "support/catch.hpp"

namespace lowhiss::console_test {

namespace fs = std::filesystem;

/// A piece of a page: a command with what it prints, or the text in between (no command).
struct Piece {
    std::string command;
    std::string text;
    int line;
};

/// The `$ command` lines of the console blocks, each with its `> continuation` lines and the output
/// that follows.
std::vector<Piece> pieces_of(const std::string& text) {
    std::vector<Piece> pieces{{"", "", 1}};
    bool inside = false;
    int number = 0;
    for (const std::string& line : test::lines_of(text)) {
        ++number;
        Piece& last = pieces.back();
        if (line.starts_with("```")) {
            inside = line == "```console";
            pieces.push_back({"", line + "\n", number});
        } else if (inside && line.starts_with("$ ")) {
            pieces.push_back({line.substr(2), "", number});
        } else if (inside && line.starts_with("> ") && !last.command.empty() && last.text.empty()) {
            last.command += "\n" + line.substr(2);
        } else {
            last.text += line + "\n";
        }
    }
    return pieces;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size())) {
        text.replace(at, from.size(), to);
    }
    return text;
}

/// Standard output and error of a shell command, run in a folder with `lowhiss` on the path.
std::string output_of(const std::string& command, const std::string& folder = test::root) {
    const std::string whole = "cd '" + folder +
                              "' && LOWHISS_BUILD_DIR='" LOWHISS_BUILD_DIR
                              "' PATH='" LOWHISS_BUILD_DIR
                              "/cli':\"$PATH\" NO_COLOR=1 CI= bash -c '" +
                              replaced(command, "'", "'\\''") + "' 2>&1";
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(whole.c_str(), "r"), pclose);
    REQUIRE(pipe);
    std::string output;
    std::array<char, 4096> buffer{};
    while (const std::size_t count = std::fread(buffer.data(), 1, buffer.size(), pipe.get())) {
        output.append(buffer.data(), count);
    }
    return output;
}

/// A folder that looks like a fresh clone to the commands of a page, and that they may write into.
/// It has the page's boards that begin with their file name.
class Scratch {
  public:
    explicit Scratch(const std::string& page) {
        std::string name = fs::temp_directory_path().string() + "/lowhiss-docs-XXXXXX";
        REQUIRE(mkdtemp(name.data()));
        folder_ = name;
        for (const char* part : {"netlists", "cli"}) {
            fs::create_symlink(test::root + "/" + part, folder_ + "/" + part);
        }
        for (const test::Block& block : test::blocks_of(page, "toml")) {
            if (block.file_name().empty()) continue;
            std::ofstream(folder_ + "/" + block.file_name(), std::ios::binary) << block.text;
        }
    }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    ~Scratch() { fs::remove_all(folder_); }

    const std::string& folder() const { return folder_; }

  private:
    std::string folder_;
};

std::string page_text(const std::vector<Piece>& pieces) {
    std::string text;
    for (const Piece& piece : pieces) {
        if (!piece.command.empty()) text += "$ " + replaced(piece.command, "\n", "\n> ") + "\n";
        text += piece.text;
    }
    return text;
}

std::size_t command_count(const std::string& page) {
    std::size_t count = 0;
    for (const Piece& piece : pieces_of(test::file_text(test::root + "/" + page))) {
        if (!piece.command.empty()) ++count;
    }
    return count;
}

void compare_or_approve(const std::string& page) {
    const std::string path = test::root + "/" + page;
    const Scratch scratch(page);
    std::vector<Piece> pieces = pieces_of(test::file_text(path));
    for (Piece& piece : pieces) {
        if (piece.command.empty()) continue;
        INFO(page << ":" << piece.line << " " << piece.command);
        const std::string output = output_of(piece.command, scratch.folder());
        // Checked apart, so that approving cannot accept a mistake in the command or in its filter.
        CHECK(output.find("Run with --help") == std::string::npos);
        CHECK((piece.command.find(" | ") == std::string::npos || !output.empty()));
        if (test::approving())
            piece.text = output;
        else
            CHECK(output == piece.text);
    }
    if (test::approving()) std::ofstream(path, std::ios::binary) << page_text(pieces);
}

// One test for each page, so that pages run in parallel.

TEST_CASE("commands of README.md print what it shows", "[docs]") {
    CHECK(command_count("README.md") >= 5);
    compare_or_approve("README.md");
}

TEST_CASE("commands of cli/README.md print what it shows", "[docs]") {
    CHECK(command_count("cli/README.md") >= 15);
    compare_or_approve("cli/README.md");
}

TEST_CASE("no other page has console blocks", "[docs]") {
    for (const std::string& page : test::pages()) {
        if (page == "README.md" || page == "cli/README.md") continue;
        INFO(page << ": give it a test of its own, beside these");
        CHECK(command_count(page) == 0);
    }
}

TEST_CASE("README.md fits in 250 lines", "[docs]") {
    CHECK(test::lines_of(test::file_text(test::root + "/README.md")).size() <= 250);
}

TEST_CASE("the set-up command ends with the sweep of a demo board", "[docs]") {
    const std::string sweep = output_of("lowhiss sweep netlists/boards/heron-c.toml");
    REQUIRE(sweep.size() > 1000);
    const std::string output = output_of("bash cli/quickstart.sh");
    INFO(output);
    CHECK(output.ends_with(sweep));
}

/// The part of a drawing that names the program that made it.
std::string producer_of(const std::string& svg) {
    const auto at = svg.find("<desc>");
    return at == std::string::npos ? "" : svg.substr(at, svg.find("</desc>", at) - at);
}

TEST_CASE("the picture of the board is drawn from the board as it is", "[docs]") {
    const std::string drawn =
        output_of("lowhiss inspect netlists/boards/heron-c.toml --quiet --graph -");
    CHECK(drawn == test::file_text(test::root + "/netlists/pictures/heron-c.dot"));
}

TEST_CASE("the pictures of curves and page are those of the boards as they are", "[docs]") {
    const std::string pictures = test::root + "/netlists/pictures/";
    if (output_of("command -v gnuplot").empty()) {
        WARN("no gnuplot (package gnuplot-nox): the pictures are not compared");
        return;
    }
    const std::string plotted =
        output_of("lowhiss sweep netlists/boards/heron-c.toml --quiet --plot -");
    const std::string kept = test::file_text(pictures + "heron-c-sweep.svg");
    if (producer_of(plotted) != producer_of(kept)) {
        WARN("another gnuplot drew the pictures: they are not compared");
        return;
    }
    CHECK(plotted == kept);
    // The page is kept as a screen shot, so its check sum is compared.
    const std::string sum = output_of(
        "lowhiss report netlists/boards/heron-b.toml netlists/boards/heron-c.toml "
        "netlists/boards/heron-d.toml --quiet --output - | sha256sum");
    CHECK(sum == test::file_text(pictures + "heron-page.sha256"));
}

}  // namespace lowhiss::console_test
