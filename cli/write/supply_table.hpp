#pragma once

#include <string>

#include "write/supply_report.hpp"

namespace lowhiss::cli {

/// Faults, amplifiers, sources, capacitors and outputs, for people.
std::string supply_table(const SupplyReport& report, bool bold);

}  // namespace lowhiss::cli
