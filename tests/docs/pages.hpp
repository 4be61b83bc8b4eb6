#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "approve.hpp"

namespace lowhiss::test {

inline const std::string root = LOWHISS_SOURCE_DIR;

/// The pages that people read, by their paths from the root: README.md and DEVELOPERS.md, and every
/// README.md in a folder of the sources.
inline std::vector<std::string> pages() {
    namespace fs = std::filesystem;
    std::vector<std::string> paths{"README.md", "DEVELOPERS.md"};
    for (const char* folder : {"engine", "cli", "netlists", "tests", "bench"}) {
        for (const auto& entry : fs::recursive_directory_iterator(root + "/" + folder)) {
            if (entry.path().filename() != "README.md") continue;
            paths.push_back(entry.path().string().substr(root.size() + 1));
        }
    }
    return paths;
}

/// A fenced block of a page. `line` is that of its fence.
struct Block {
    std::string language;
    std::string text;
    int line = 0;

    /// "first.toml", of a block that begins with the comment `# first.toml`; else empty.
    std::string file_name() const {
        const std::string ending = ".toml\n";
        const std::string first = text.substr(0, text.find('\n') + 1);
        if (!first.starts_with("# ") || !first.ends_with(ending)) return "";
        const std::string name = first.substr(2, first.size() - 3);
        return name.find_first_of(" /") == std::string::npos ? name : "";
    }
};

inline std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::size_t begin = 0;
    for (std::size_t end = text.find('\n'); end != std::string::npos;
         end = text.find('\n', begin)) {
        lines.push_back(text.substr(begin, end - begin));
        begin = end + 1;
    }
    if (begin < text.size()) lines.push_back(text.substr(begin));
    return lines;
}

inline std::vector<Block> blocks_of(const std::string& page, const std::string& language) {
    std::vector<Block> blocks;
    bool inside = false;
    int number = 0;
    for (const std::string& line : lines_of(file_text(root + "/" + page))) {
        ++number;
        if (line.starts_with("```")) {
            inside = !inside;
            if (inside) blocks.push_back({line.substr(3), "", number});
        } else if (inside) {
            blocks.back().text += line + "\n";
        }
    }
    std::erase_if(blocks, [&](const Block& block) { return block.language != language; });
    return blocks;
}

}  // namespace lowhiss::test
