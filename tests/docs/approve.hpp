#pragma once

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

#include "support/catch.hpp"

namespace lowhiss::test {

/// LOWHISS_APPROVE=1 rewrites committed texts instead of comparing them; look at the difference
/// before committing it.
inline bool approving() {
    const char* value = std::getenv("LOWHISS_APPROVE");
    return value && std::string(value) == "1";
}

inline std::string file_text(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

/// Compares the text between a mark and its end in a Markdown file, or writes it there.
inline void check_between(const std::string& path, const std::string& mark,
                          const std::string& wanted) {
    std::string text = file_text(path);
    const std::string open = "<!-- " + mark + " -->\n";
    const std::string closing = "<!-- end of " + mark + " -->";
    REQUIRE(text.find(open) != std::string::npos);
    const auto begin = text.find(open) + open.size();
    const auto end = text.find(closing, begin);
    REQUIRE(end != std::string::npos);
    if (approving()) {
        text.replace(begin, end - begin, wanted);
        std::ofstream(path, std::ios::binary) << text;
    } else {
        CHECK(text.substr(begin, end - begin) == wanted);
    }
}

}  // namespace lowhiss::test
