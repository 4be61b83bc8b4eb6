#pragma once

#include <string>

#include "lowhiss/ordered/match_files.hpp"

namespace lowhiss::cli {

/// One line a finding, the worst first; then what was compared, what could not be, and the verdict.
/// `quiet`: the findings only.
std::string match_text(const MatchReport& report, bool quiet, bool bold);

/// The finding with its positions, in one line.
std::string finding_line(const ReportedFinding& each);

}  // namespace lowhiss::cli
