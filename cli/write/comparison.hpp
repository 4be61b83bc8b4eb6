#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board_diff.hpp"
#include "lowhiss/sweep/compare.hpp"

namespace lowhiss::cli {

/// One board of a comparison.
struct ComparedBoard {
    std::string label;  ///< "A", "B", ...
    std::string path;
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    std::string name;
    std::string revision;
    std::vector<BoardChange> changes;  ///< against the first board
    std::vector<ComparedPosition> positions;
    std::vector<std::string> set{};  ///< what was altered for this run
};

struct ComparisonReport {
    std::vector<std::string> positions;  ///< "50 %" or "40 dB"
    std::vector<ComparedBoard> boards;
};

}  // namespace lowhiss::cli
