#pragma once

#include <string>

#include "lowhiss/ordered/match_files.hpp"

namespace lowhiss::cli {

/// One test case a kind of finding, whose failure has a line for each.
std::string match_junit(const MatchReport& report);

}  // namespace lowhiss::cli
