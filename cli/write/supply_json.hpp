#pragma once

#include <string>

#include "write/supply_report.hpp"

namespace lowhiss::cli {

/// Every state of every assembly, and the faults.
std::string supply_json(const SupplyReport& report);

}  // namespace lowhiss::cli
