#pragma once

#include "command/options.hpp"
#include "lowhiss/board/board_diff.hpp"
#include "lowhiss/sweep/compare.hpp"

namespace lowhiss::cli {

struct CompareOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::string capsule;
    std::vector<std::string> knob;
    std::vector<std::string> at_gain;
    std::string json;
    std::string plot;
};

/// One board of a comparison.
struct ComparedBoard {
    std::string label;  ///< "A", "B", ...
    std::string path;
    std::string variant;  ///< empty: the plain board
    std::string capsule;
    std::string name;
    std::string revision;
    std::vector<BoardChange> changes;  ///< against the first board; of that nothing
    std::vector<ComparedPosition> positions;
};

struct ComparisonReport {
    std::vector<std::string> positions;  ///< "50 %" or "40 dB"
    std::vector<ComparedBoard> boards;
};

void add_compare(CLI::App& app, CompareOptions& options);
ExitStatus run_compare(const CompareOptions& options);

// The writers of a comparison; each returns the whole text.
std::string compare_table(const ComparisonReport& report, bool bold);
std::string compare_json(const ComparisonReport& report);

}  // namespace lowhiss::cli
