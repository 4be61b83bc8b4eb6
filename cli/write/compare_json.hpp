#pragma once

#include <string>

#include "write/compare_report.hpp"

namespace lowhiss::cli {

/// All figures of every board at every position.
std::string compare_json(const ComparisonReport& report);

}  // namespace lowhiss::cli
