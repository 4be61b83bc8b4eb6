#pragma once

#include <string>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// The verdict on a run in a few lines: oscillation, gain range, -3 dB band, EIN, other alarms.
std::string sweep_summary(const SweepRun& run);

}  // namespace lowhiss::cli
