#pragma once

#include <optional>
#include <string>
#include <vector>

#include "draw/chart.hpp"
#include "lowhiss/board/board_diff.hpp"
#include "lowhiss/ordered/match_files.hpp"
#include "lowhiss/promise/check.hpp"
#include "sound/embedded_sound.hpp"

namespace lowhiss::cli {

/// One assembly of a board on a page.
struct ReportedAssembly {
    std::string title;
    ChartSheet sheet;
    std::vector<std::string> pictures;  ///< SVG of the first charts; empty without gnuplot
    std::vector<std::string> alarms;    ///< of the supply, of stability; not folded away
    std::string summary;                ///< the first lines of `sweep`; may be empty
    std::string distortion;             ///< that table of `sweep`; empty if nothing distorts
    std::string tables;                 ///< the text of `sweep`
};

struct ReportedBoard {
    std::string name;
    std::string revision;
    std::string path;
    std::vector<Verdict> verdicts;  ///< worst first
    std::vector<ReportedAssembly> assemblies;
    std::vector<BoardLine> parts;
    std::string changed_from;          ///< the board before it on the page; empty for the first
    std::vector<BoardChange> changes;  ///< against that board
    std::optional<MatchReport> match;  ///< with the data that it is ordered by
    std::string choose_title;          ///< what is best; empty: nothing was searched
    std::string choose;                ///< the text of `choose`
};

/// The whole page. Everything that comes from a board is text in it, never markup.
std::string report_html(const std::vector<ReportedBoard>& boards,
                        const std::vector<EmbeddedSound>& sounds, bool pictures);

}  // namespace lowhiss::cli
