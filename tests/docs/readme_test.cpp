// Every command that the README shows in a console block is run, and what it prints compared.

#include <array>
#include <cstdio>
#include <fstream>
#include <memory>
#include <vector>

#include "approve.hpp"
#include "support/catch.hpp"

namespace lowhiss::readme_test {

/// A piece of the README: a command with what it prints, or text in between (no command).
struct Piece {
    std::string command;
    std::string text;
    int line;
};

/// The `$ command` lines of the ```console blocks and the lines that follow each.
std::vector<Piece> pieces_of(const std::string& path) {
    std::ifstream file(path);
    std::vector<Piece> pieces{{"", "", 1}};
    bool inside = false;
    int number = 0;
    for (std::string line; std::getline(file, line);) {
        ++number;
        if (line.starts_with("```")) {
            inside = line == "```console";
            pieces.push_back({"", line + "\n", number});
        } else if (inside && line.starts_with("$ ")) {
            pieces.push_back({line.substr(2), "", number});
        } else {
            pieces.back().text += line + "\n";
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

/// Standard output and error of a shell command, run in the root of the sources.
std::string output_of(const std::string& command) {
    const std::string whole = "cd '" LOWHISS_SOURCE_DIR "' && LOWHISS_BUILD_DIR='" LOWHISS_BUILD_DIR
                              "' NO_COLOR=1 CI= bash -c '" +
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

/// The set-up command says first what it installs and builds, which differs by machine.
std::string comparable(const std::string& command, const std::string& output) {
    if (command != "bash cli/quickstart.sh") return output;
    const auto table = output.find("\n\n");
    return table == std::string::npos ? output : output.substr(table + 2);
}

/// What a drawing says of the program that made it.
std::string producer_of(const std::string& svg) {
    const auto at = svg.find("<desc>");
    return at == std::string::npos ? "" : svg.substr(at, svg.find("</desc>", at) - at);
}

void rewrite(const std::string& path, const std::vector<Piece>& pieces) {
    std::ofstream file(path, std::ios::binary);
    for (const Piece& piece : pieces) {
        if (!piece.command.empty()) file << "$ " << piece.command << "\n";
        file << piece.text;
    }
}

TEST_CASE("README commands print what the README says", "[docs]") {
    const std::string path = LOWHISS_SOURCE_DIR "/README.md";
    std::vector<Piece> pieces = pieces_of(path);
    std::size_t commands = 0;
    for (Piece& piece : pieces) {
        if (piece.command.empty()) continue;
        ++commands;
        INFO("README.md:" << piece.line << " " << piece.command);
        const std::string output =
            comparable(piece.command,
                       output_of(replaced(piece.command, "build/cli/", LOWHISS_BUILD_DIR "/cli/")));
        if (test::approving())
            piece.text = output;
        else
            CHECK(output == piece.text);
    }
    CHECK(commands >= 5);
    if (test::approving()) rewrite(path, pieces);
}

TEST_CASE("the README's picture is drawn from the board as it is", "[docs]") {
    const std::string drawn = output_of(LOWHISS_BUILD_DIR
                                        "/cli/lowhiss inspect netlists/boards/heron-c.toml "
                                        "--quiet --graph - ");
    CHECK(drawn == test::file_text(LOWHISS_SOURCE_DIR "/netlists/pictures/heron-c.dot"));
}

TEST_CASE("the README's curves and page are those of the boards as they are", "[docs]") {
    const std::string pictures = LOWHISS_SOURCE_DIR "/netlists/pictures/";
    if (output_of("command -v gnuplot").empty()) {
        WARN("no gnuplot (package gnuplot-nox): the README's pictures are not compared");
        return;
    }
    const std::string plotted = output_of(LOWHISS_BUILD_DIR
                                          "/cli/lowhiss sweep netlists/boards/heron-c.toml "
                                          "--quiet --plot -");
    const std::string kept = test::file_text(pictures + "heron-c-sweep.svg");
    if (producer_of(plotted) != producer_of(kept)) {
        WARN("another gnuplot than drew the README's pictures: they are not compared");
        return;
    }
    CHECK(plotted == kept);
    // Of the page the check sum: its picture is a screen shot.
    const std::string sum = output_of(LOWHISS_BUILD_DIR
                                      "/cli/lowhiss report netlists/boards/heron-b.toml "
                                      "netlists/boards/heron-c.toml netlists/boards/heron-d.toml "
                                      "--quiet --output - | sha256sum");
    CHECK(sum == test::file_text(pictures + "heron-page.sha256"));
}

}  // namespace lowhiss::readme_test
