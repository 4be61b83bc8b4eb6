#pragma once

#include <string>

#include "write/compare_report.hpp"

namespace lowhiss::cli {

/// Changed parts, figures side by side, noise and bass by part.
std::string compare_table(const ComparisonReport& report, bool bold);

}  // namespace lowhiss::cli
