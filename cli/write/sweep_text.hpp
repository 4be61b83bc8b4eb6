#pragma once

#include <optional>
#include <string>
#include <vector>

#include "lowhiss/sweep/sweep.hpp"
#include "write/series_board.hpp"
#include "write/sweep_tables.hpp"

namespace lowhiss::cli {

/// For each run the summary and the tables asked for; then capsules compared, and the names of the
/// tables not printed. `board` is set for a board of a series.
std::string sweep_text(const Sweep& sweep, const std::optional<SeriesBoard>& board,
                       const TableChoice& choice, bool bold);

/// Each assembly that was solved with several capsules, side by side; empty if there is none.
std::string capsule_comparison(const Sweep& sweep, bool bold);

}  // namespace lowhiss::cli
