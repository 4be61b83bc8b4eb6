#pragma once

#include <string>
#include <vector>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

// The positions of most and least gain at 1 kHz; one without a gain only if all are.
const KnobResult& loudest(const SweepRun& run);
const KnobResult& quietest(const SweepRun& run);

/// Indices of the positions for a table with a column each: at most five, evenly picked, the first
/// and the last among them.
std::vector<std::size_t> shown_positions(const SweepRun& run);

/// "25", or a dash without a knob.
std::string rotation_percent(const KnobResult& knob);

/// `cells`, then "25 %" for each shown position.
std::vector<std::string> position_heading(const SweepRun& run, std::vector<std::string> cells);

}  // namespace lowhiss::cli
