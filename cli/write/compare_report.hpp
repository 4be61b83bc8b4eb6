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
    /// The alterations of each --set that has several, of a single board file: the boards are all
    /// of their combinations, those of the last one vary fastest.
    std::vector<std::vector<std::string>> varied{};
};

}  // namespace lowhiss::cli
