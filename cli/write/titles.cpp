#include "write/titles.hpp"

namespace lowhiss::cli {

std::string board_title(const std::string& board, const std::string& revision,
                        const std::string& variant) {
    std::string title = board;
    if (!revision.empty()) title += ", revision " + revision;
    if (!variant.empty()) title += ", variant " + variant;
    return title;
}

std::string assembly_title(const std::string& board, const std::string& revision,
                           const std::string& variant, const std::string& capsule) {
    return board_title(board, revision, variant) + ", " +
           (capsule.empty() ? "ideal source" : "capsule " + capsule);
}

}  // namespace lowhiss::cli
