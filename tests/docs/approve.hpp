#pragma once

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

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

}  // namespace lowhiss::test
