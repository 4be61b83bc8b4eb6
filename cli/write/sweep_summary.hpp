#pragma once

#include <string>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// The verdict on a run in a few lines: oscillation and faults of the supply, gain range,
/// -3 dB band, EIN, other alarms, what is accepted, what is a best case.
std::string sweep_summary(const SweepRun& run);

}  // namespace lowhiss::cli
