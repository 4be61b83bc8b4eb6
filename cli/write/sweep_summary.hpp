#pragma once

#include <string>
#include <vector>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// The sentences that stand above all figures of a run: oscillation, faults of the supply
/// that are not accepted, a capsule that the input loads.
std::vector<std::string> sweep_alarms(const SweepRun& run);

/// The verdict on a run in a few lines: gain range, -3 dB band, EIN, alarms of cables, what is
/// accepted, what is a best case.
std::string sweep_verdict(const SweepRun& run);

/// The alarms, then the verdict.
std::string sweep_summary(const SweepRun& run);

}  // namespace lowhiss::cli
