#pragma once

#include <map>
#include <string>

#include "lowhiss/board/board.hpp"

namespace lowhiss::test {

/// Files that exist in memory only.
inline FileReader memory_reader(std::map<std::string, std::string> files) {
    return [files = std::move(files)](
               const std::string& path) -> std::variant<std::string, Unreadable> {
        const auto found = files.find(path);
        if (found == files.end()) return Unreadable{"there is no such file"};
        return found->second;
    };
}

}  // namespace lowhiss::test
