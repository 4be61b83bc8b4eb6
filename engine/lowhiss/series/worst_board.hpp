#pragma once

#include <string>

#include "lowhiss/series/worst_search.hpp"

namespace lowhiss {

/// The worst board that was found for one limit at one place.
struct WorstBoard {
    Verdict nominal;  ///< of the drawn board there
    FoundWorst found;
    Board board;
};

/// Computes the limits of a series and finds the worst board of the limit with the least room, as
/// `least_room` has it, or of the limit of that name, where it is met by least. The figures are
/// those of a tolerance run with the same request. Throws Error (unusable_input) if the board has
/// no such limit, or none whose figure exists.
WorstBoard find_worst_board(const Board& board, SpreadRequest request, const std::string& limit);

}  // namespace lowhiss
