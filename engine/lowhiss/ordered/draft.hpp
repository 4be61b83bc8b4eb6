#pragma once

#include <string>
#include <vector>

#include "lowhiss/ordered/match_files.hpp"

namespace lowhiss {

/// Pins of connectors, "J1.2", that the capsule and the output are on: plus first, then minus.
struct DraftTerminals {
    std::vector<std::string> input;
    std::vector<std::string> output;
};

/// A board file made of the data, to be finished by hand: parts by the letters of their
/// designators, nodes by the names of nets, values from the list of materials. What the data does
/// not tell is written as "fill in", which the reader of boards reports with its line. A comment
/// marks every guess. Throws Error (unusable_input) if a terminal is no pin of the data.
std::string draft_text(const Ordered& ordered, const DraftTerminals& terminals);

/// A commented board to start from, which sweeps as it is.
std::string starter_board();

}  // namespace lowhiss
