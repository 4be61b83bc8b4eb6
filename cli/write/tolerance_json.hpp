#pragma once

#include <string>

#include "write/json.hpp"
#include "write/spread_report.hpp"

namespace lowhiss::cli {

Json yield_json(const Yield& yield);

/// Yield, limits with the value of every board, figures and response.
std::string tolerance_json(const SpreadReport& report);

}  // namespace lowhiss::cli
