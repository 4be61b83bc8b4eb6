// What README.md and DEVELOPERS.md show beside console blocks: boards are read, commands are known,
// files are there, and measured figures are those of the record.

#include <algorithm>
#include <filesystem>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "approve.hpp"
#include "lowhiss/solver/plan.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"
#include "support/memory_reader.hpp"

namespace lowhiss::text_test {

namespace fs = std::filesystem;

const std::string root = LOWHISS_SOURCE_DIR;

struct Block {
    std::string text;
    int line;
};

/// The fenced blocks of one language.
std::vector<Block> blocks_of(const std::string& file, const std::string& language) {
    std::istringstream text(test::file_text(root + "/" + file));
    std::vector<Block> blocks;
    bool inside = false;
    int number = 0;
    for (std::string line; std::getline(text, line);) {
        ++number;
        if (!inside && line == "```" + language) {
            inside = true;
            blocks.push_back({"", number});
        } else if (inside && line == "```") {
            inside = false;
        } else if (inside) {
            blocks.back().text += line + "\n";
        }
    }
    return blocks;
}

/// A whole board as it stands; a piece of one on top of a demo board.
std::string board_from(const Block& block) {
    if (block.text.find("[output]") != std::string::npos) return block.text;
    const std::string base = "based_on = \"heron-c.toml\"\n";
    const auto at = block.text.find("[board]\n");
    if (at == std::string::npos) return "[board]\n" + base + block.text;
    return std::string(block.text).insert(at + 8, base);
}

/// The commands of the `sh` blocks that no console block runs: here is who does.
const std::map<std::string, std::string> run_elsewhere{
    {"bash tests/run.sh", "runs this test"},
    {"bash tests/run.sh -R rolloff", "runs this test, with an option of ctest"},
    {"build/tests/lowhiss_tests \"[independent]\"", "this program"},
    {"LOWHISS_APPROVE=1 build/tests/lowhiss_tests", "this program"},
    {"bash cli/shard/shards_parallel.sh results 100 board.toml --boards 100000", "cli/parallel_test.sh"},
    {"sbatch --array=1-100 cli/shard/shards_slurm.sh results 100 board.toml --boards 100000",
     "cli/slurm_test.sh"},
    {"lowhiss tolerance --merge results/*.shard --json board.json", "cli/shard/shards_test.sh"},
    {"export CI=true", "cli/regression_test.sh"},
    {"bash lowhiss/cli/quickstart.sh", "a console block"},
    {"lowhiss/build/cli/lowhiss check boards/*.toml --junit lowhiss.xml", "cli/regression_test.sh"},
    {"cmake --build build && cmake --install build --prefix ~/.local", "install_test.sh"},
    {"sudo apt install ./build/lowhiss_*.deb", "clean_root.sh"},
    {"cd build && cpack && cd ..", "package_test.sh"},
};

/// Those that take an hour, root or another machine: that they are whole is all that is tested.
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

TEST_CASE("README boards and pieces of boards are read without a word", "[docs]") {
    const auto blocks = blocks_of("README.md", "toml");
    CHECK(blocks.size() >= 4);
    const FileReader disk = disk_reader();
    const std::string folder = root + "/netlists/boards/";
    for (const Block& block : blocks) {
        INFO("README.md:" << block.line);
        const FileReader reader =
            [&](const std::string& path) -> std::variant<std::string, Unreadable> {
            if (path == folder + "shown.toml") return board_from(block);
            return disk(path);
        };
        const BoardReading reading = read_board(folder + "shown.toml", reader);
        for (const Diagnostic& d : reading.diagnostics) CHECK(to_text(d).empty());
        CHECK(reading.board.has_value());
    }
}

TEST_CASE("every command in a shell block is one that is run somewhere", "[docs]") {
    for (const char* file : {"README.md", "DEVELOPERS.md"}) {
        for (const Block& block : blocks_of(file, "sh")) {
            std::istringstream lines(block.text);
            for (std::string line; std::getline(lines, line);) {
                if (line.empty()) continue;
                INFO(file << ":" << block.line << " " << line);
                CHECK(is_known(without_comment(line)));
            }
        }
    }
}

TEST_CASE("files and folders that the texts name are there", "[docs]") {
    const auto paths = sources();
    for (const char* file : {"README.md", "DEVELOPERS.md"}) {
        for (const std::string& name : named_paths(file)) {
            INFO(file << " names " << name);
            CHECK(std::any_of(paths.begin(), paths.end(), [&](const std::string& path) {
                return path.ends_with("/" + name) || path == "/" + name + "/";
            }));
        }
    }
}

TEST_CASE("figures of long runs in DEVELOPERS.md are those that the runs recorded", "[docs]") {
    const std::map<std::string, std::string> records{{"bench", "bench/last_run.md"},
                                                     {"fuzz", "tests/records/fuzz.md"},
                                                     {"numbers", "tests/records/numbers.md"},
                                                     {"coverage", "tests/records/coverage.md"}};
    for (const auto& [mark, file] : records) {
        const std::string record = test::file_text(root + "/" + file);
        INFO(file);
        REQUIRE(!record.empty());
        test::check_between(root + "/DEVELOPERS.md", mark, record);
    }
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
