#pragma once

#include <string>
#include <vector>

#include "lowhiss/choose/choose_values.hpp"
#include "lowhiss/series/spread.hpp"
#include "lowhiss/sweep/compare.hpp"

namespace lowhiss::cli {

/// The sets of values that were found for a board.
struct ChooseReport {
    const Board* board;
    ChooseRequest request;
    Chosen chosen;
    std::string variant;                      ///< of positions and yields; empty: the plain board
    double knob = unset;                      ///< of the positions; unset: there is none
    std::vector<ComparedPosition> positions;  ///< of the board as drawn, then of each best set
    std::size_t boards = 0;                   ///< of each series; 0: no yields
    BoardSeries series;
    std::vector<Yield> yields;  ///< in the order of the positions
    std::string applied;        ///< the file that has the best set; empty: none
};

/// Sets, figures, what the limits leave, noise, yields.
std::string choose_table(const ChooseReport& report, bool bold);
std::string choose_json(const ChooseReport& report);

/// "R4 = R5"
std::string open_name(const OpenValue& open);

/// "least ein at knob 100 %"
std::string aim_text(const Choose& choose);

}  // namespace lowhiss::cli
