#pragma once

#include <string>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// The curves, a row for each frequency of each knob position.
std::string sweep_csv(const Sweep& sweep);

}  // namespace lowhiss::cli
