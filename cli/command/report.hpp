#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"
#include "draw/chart.hpp"
#include "lowhiss/board/board_diff.hpp"
#include "lowhiss/promise/check.hpp"

namespace lowhiss::cli {

struct ReportOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::vector<std::string> capsules;  ///< to be compared; empty: each assembly's own
    std::string output;
};

/// One assembly of a board, as a page shows it.
struct ReportedAssembly {
    std::string title;
    ChartSheet sheet;
    std::vector<std::string> pictures;  ///< SVG of each chart; empty where there is no gnuplot
    std::string table;                  ///< as `sweep` prints it
};

struct ReportedBoard {
    std::string name;
    std::string revision;
    std::string path;
    std::vector<Verdict> verdicts;  ///< worst first
    std::vector<ReportedAssembly> assemblies;
    std::vector<BoardLine> parts;
    std::string changed_from;          ///< the board before it on the page; empty: the first
    std::vector<BoardChange> changes;  ///< against that
};

void add_report(CLI::App& app, ReportOptions& options);
ExitStatus run_report(const ReportOptions& options);

/// The whole page. Everything that comes from a board is text in it, never markup.
std::string report_html(const std::vector<ReportedBoard>& boards, bool pictures);

}  // namespace lowhiss::cli
