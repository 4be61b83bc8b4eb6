// The contents of the pages beside console blocks: boards are read, commands are known, links lead
// somewhere, files are there, and the sizes in the record of times are those of the boards.

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "lowhiss/solver/plan.hpp"
#include "lowhiss/sweep/sweep.hpp"
#include "pages.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/memory_reader.hpp"

namespace lowhiss::text_test {

namespace fs = std::filesystem;

using test::Block;
using test::root;

bool is_whole_board(const Block& block) {
    static const std::regex output("(^|\n)(\\[output\\]|output +=)");
    return std::regex_search(block.text, output);
}

/// A whole board as it stands; a piece of one on top of a demo board.
std::string board_from(const Block& block) {
    if (is_whole_board(block)) return block.text;
    const std::string base = "based_on = \"heron-c.toml\"\n";
    const auto at = block.text.find("[board]\n");
    if (at == std::string::npos) return "[board]\n" + base + block.text;
    return std::string(block.text).insert(at + 8, base);
}

/// The commands of the `sh` blocks that another test runs, and which one.
const std::map<std::string, std::string> run_elsewhere{
    {"bash tests/run.sh", "runs this test"},
    {"bash tests/run.sh -R rolloff", "runs this test, with an option of ctest"},
    {"build/tests/lowhiss_tests \"[independent]\"", "this program"},
    {"LOWHISS_APPROVE=1 build/tests/lowhiss_tests", "this program"},
    {"bash cli/shard/shards_parallel.sh results 100 board.toml --boards 100000",
     "cli/parallel_test.sh"},
    {"sbatch --array=1-100 cli/shard/shards_slurm.sh results 100 board.toml --boards 100000",
     "cli/slurm_test.sh"},
    {"lowhiss tolerance --merge results/*.shard --json board.json", "cli/shards_test.sh"},
    {"export CI=true", "cli/regression_test.sh"},
    {"bash lowhiss/cli/quickstart.sh", "console.cpp"},
    {"bash cli/quickstart.sh", "console.cpp"},
    {"export PATH=\"$PWD/build/cli:$PATH\"", "console.cpp"},
    {"LOWHISS_APPROVE=1 build/tests/lowhiss_tests \"[docs]\"", "this program"},
    {"lowhiss/build/cli/lowhiss check boards/*.toml --junit lowhiss.xml", "cli/regression_test.sh"},
    {"lowhiss/build/cli/lowhiss match boards/mine.toml ordered/mine.ipc ordered/mine.csv",
     "cli/match_test.sh"},
    {"cmake --build build && cmake --install build --prefix ~/.local", "install_test.sh"},
    {"sudo apt install ./build/lowhiss_*.deb", "clean_root.sh"},
    {"cd build && cpack && cd ..", "package_test.sh"},
};

/// Commands that take an hour, root or another machine: only their existence is tested.
const std::set<std::string> too_long{
    "tests/lint.sh",
    "tests/fuzz.sh",
    "bench/run.sh",
    "netlists/pictures/draw.sh",
    "tests/numbers.sh",
    "tests/builds.sh",
    "tests/clean_root.sh",
    "tests/release.sh",
    "tests/independent/make.sh",
};

std::string without_comment(std::string line) {
    line = line.substr(0, line.find("  #"));
    while (!line.empty() && line.back() == ' ') line.pop_back();
    return line;
}

bool is_known(const std::string& command) {
    if (run_elsewhere.contains(command)) return true;
    std::istringstream words(command);
    std::string first;
    std::string script;
    words >> first >> script;
    return first == "bash" && too_long.contains(script) && fs::exists(root + "/" + script) &&
           std::system(("bash -n '" + root + "/" + script + "'").c_str()) == 0;
}

/// Every file of the sources, by its path from the root.
std::vector<std::string> sources() {
    std::vector<std::string> paths;
    for (const char* folder : {"engine", "cli", "netlists", "tests", "bench", ".ci"}) {
        paths.push_back("/" + std::string(folder) + "/");
        for (const auto& entry : fs::recursive_directory_iterator(root + "/" + folder)) {
            paths.push_back(entry.path().string().substr(root.size()));
            if (entry.is_directory()) paths.back() += "/";
        }
    }
    for (const auto& entry : fs::directory_iterator(root)) {
        if (entry.is_regular_file()) paths.push_back("/" + entry.path().filename().string());
    }
    return paths;
}

/// Texts in backticks that look like files or folders of the sources.
std::set<std::string> named_paths(const std::string& file) {
    static const std::regex quoted(
        "`([A-Za-z0-9_./-]+\\.(?:cpp|hpp|sh|py|js|cmake)|"
        "(?:engine|cli|netlists|tests|bench)/[A-Za-z0-9_./-]*)`");
    const std::string text = test::file_text(root + "/" + file);
    std::set<std::string> names;
    for (std::sregex_iterator match(text.begin(), text.end(), quoted), end; match != end; ++match) {
        names.insert((*match)[1]);
    }
    return names;
}

/// A table's rows as cells.
std::vector<std::vector<std::string>> rows_of(const std::string& text) {
    std::vector<std::vector<std::string>> rows;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        if (!line.starts_with("| ")) continue;
        std::vector<std::string> cells;
        std::istringstream fields(line.substr(2));
        for (std::string cell; std::getline(fields, cell, '|');) {
            cell.erase(0, cell.find_first_not_of(' '));
            cell.erase(cell.find_last_not_of(' ') + 1);
            cells.push_back(cell);
        }
        rows.push_back(cells);
    }
    return rows;
}

/// A page's Markdown without its fenced blocks.
std::string prose_of(const std::string& page) {
    std::string prose;
    bool fenced = false;
    for (const std::string& line : test::lines_of(test::file_text(root + "/" + page))) {
        if (line.starts_with("```"))
            fenced = !fenced;
        else if (!fenced)
            prose += line + "\n";
    }
    return prose;
}

/// The anchors that a heading gets where Markdown is shown: lower case, hyphens for blanks.
std::set<std::string> anchors_of(const std::string& page) {
    std::set<std::string> anchors;
    for (const std::string& line : test::lines_of(prose_of(page))) {
        if (!line.starts_with("#")) continue;
        std::string anchor;
        for (const unsigned char c : line.substr(line.find(' ') + 1)) {
            if (c == ' ') anchor += '-';
            if (std::isalnum(c) || c == '-' || c == '_')
                anchor += static_cast<char>(std::tolower(c));
        }
        INFO(page << ": " << line << ": two headings with one anchor");
        CHECK(anchors.insert(anchor).second);
    }
    return anchors;
}

/// The targets of a page's links and pictures.
std::vector<std::string> links_of(const std::string& page) {
    static const std::regex link("\\]\\(([^)]+)\\)");
    const std::string text = prose_of(page);
    std::vector<std::string> targets;
    for (std::sregex_iterator match(text.begin(), text.end(), link), end; match != end; ++match) {
        targets.push_back((*match)[1]);
    }
    return targets;
}

/// The path from the root of a relative link's file; the page itself where it names none.
std::string linked_file(const std::string& page, const std::string& file) {
    if (file.empty()) return page;
    return (fs::path(page).parent_path() / file).lexically_normal().string();
}

TEST_CASE("boards and pieces of boards in the pages are read without a finding", "[docs]") {
    const FileReader disk = disk_reader();
    const std::string folder = root + "/netlists/boards/";
    std::size_t read = 0;
    for (const std::string& page : test::pages()) {
        for (const Block& block : test::blocks_of(page, "toml")) {
            INFO(page << ":" << block.line);
            const FileReader reader =
                [&](const std::string& path) -> std::variant<std::string, Unreadable> {
                if (path == folder + "shown.toml") return board_from(block);
                if (is_whole_board(block)) return Unreadable{"the board is saved elsewhere"};
                return disk(path);
            };
            const BoardReading reading = read_board(folder + "shown.toml", reader);
            for (const Diagnostic& d : reading.diagnostics) CHECK(to_text(d).empty());
            REQUIRE(reading.board.has_value());
            if (is_whole_board(block)) CHECK(sweep(*reading.board, {}).warnings.empty());
            ++read;
        }
    }
    CHECK(read >= 6);
}

TEST_CASE("every command in a shell block is one that is run somewhere", "[docs]") {
    for (const std::string& page : test::pages()) {
        for (const Block& block : test::blocks_of(page, "sh")) {
            for (const std::string& line : test::lines_of(block.text)) {
                if (line.empty()) continue;
                INFO(page << ":" << block.line << " " << line);
                CHECK(is_known(without_comment(line)));
            }
        }
    }
}

TEST_CASE("files and folders that the pages name are there", "[docs]") {
    const auto paths = sources();
    for (const std::string& page : test::pages()) {
        for (const std::string& name : named_paths(page)) {
            INFO(page << " names " << name);
            CHECK(std::any_of(paths.begin(), paths.end(), [&](const std::string& path) {
                return path.ends_with("/" + name) || path == "/" + name + "/";
            }));
        }
    }
}

TEST_CASE("every relative link in the pages leads to a file and a heading that are there",
          "[docs]") {
    std::size_t followed = 0;
    for (const std::string& page : test::pages()) {
        for (const std::string& target : links_of(page)) {
            if (target.starts_with("http")) continue;
            INFO(page << " links to " << target);
            const auto hash = target.find('#');
            const std::string file = linked_file(page, target.substr(0, hash));
            REQUIRE(fs::exists(root + "/" + file));
            if (hash != std::string::npos) {
                CHECK(anchors_of(file).contains(target.substr(hash + 1)));
            }
            ++followed;
        }
    }
    CHECK(followed >= 30);
}

TEST_CASE("each page is linked from another, and says at its head what it has", "[docs]") {
    std::set<std::string> linked;
    for (const std::string& page : test::pages()) {
        bool has_contents = false;
        for (const std::string& target : links_of(page)) {
            if (target.starts_with("#")) has_contents = true;
            if (target.starts_with("http") || target.starts_with("#")) continue;
            linked.insert(linked_file(page, target.substr(0, target.find('#'))));
        }
        INFO(page);
        const auto headings = test::lines_of(prose_of(page));
        const auto sections = std::count_if(headings.begin(), headings.end(), [](const auto& line) {
            return line.starts_with("## ");
        });
        CHECK((has_contents || sections < 3));
    }
    for (const std::string& page : test::pages()) {
        INFO(page << " is linked from no page");
        CHECK((page == "README.md" || linked.contains(page)));
    }
}

TEST_CASE("the program in engine/README.md is the one that install_test.sh builds", "[docs]") {
    const std::string program = test::file_text(root + "/tests/consumer/main.cpp");
    REQUIRE(!program.empty());
    test::check_between(root + "/engine/README.md", "consumer", "```cpp\n" + program + "```\n");
}

TEST_CASE("the sizes in the table of times are those of the boards", "[docs]") {
    int compared = 0;
    for (const auto& cells : rows_of(test::file_text(root + "/bench/last_run.md"))) {
        const std::string path = root + "/netlists/boards/" + cells[0] + ".toml";
        if (!fs::exists(path) || cells.size() < 3) continue;
        INFO(cells[0]);
        const BoardReading reading = read_board(path, disk_reader());
        REQUIRE(reading.board);
        const Capsule* capsule = capsule_named(*reading.board, reading.board->input.capsule);
        const Network network(build_circuit(*reading.board, 0.5, capsule));
        CHECK(std::to_string(network.pencil().size) == cells[1]);
        CHECK(std::to_string(network.plan()->program->once_steps()) == cells[2]);
        ++compared;
    }
    CHECK(compared == 5);
}

}  // namespace lowhiss::text_test
