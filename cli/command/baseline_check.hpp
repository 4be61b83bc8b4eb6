#pragma once

#include "command/check.hpp"

namespace lowhiss::cli {

/// Whether the environment says that nobody is looking: CI is set, and not to "false" or "0".
bool in_ci();

/// Holds the figures against the baseline beside the board, if there is one.
BaselineCheck compare_with_baseline(const Board& board, const std::vector<Figure>& figures,
                                    const CheckOptions& options);

/// Writes the baseline, unless it says the same already, one that cannot be used stands in its
/// place, or a figure could not be computed. What keeps it from being written is its trouble.
void record(const Board& board, const std::vector<Figure>& figures, BaselineCheck& baseline);

ExitStatus status_of(const BaselineCheck& baseline);

/// Whether the entry alone makes the check fail.
bool fails(const FigureDrift& drift, const BaselineCheck& baseline);

// In words, for table and JUnit.
std::string drift_name(const FigureDrift& drift);
std::string drift_text(const FigureDrift& drift);

}  // namespace lowhiss::cli
