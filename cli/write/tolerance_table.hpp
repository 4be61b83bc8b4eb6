#pragma once

#include <string>

#include "write/spread_report.hpp"

namespace lowhiss::cli {

/// Yield, what to tighten first, limits and figures, for people.
std::string tolerance_table(const SpreadReport& report, bool bold);

}  // namespace lowhiss::cli
