#pragma once

#include <vector>

#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

/// Delay of the envelope, -d phase / d omega, in s.
double group_delay_s(const Response& response);

/// Phases of the responses (ascending frequencies), in radians, continuous in frequency: between
/// two of them the network is asked in between until no step can hide a turn; unset from
/// where that has no end, the gain being lost in rounding. The phase at `anchor_hz` lies in (-pi,
/// pi], so that the result does not depend on where the list starts.
std::vector<double> unwrapped_phase(Network& network, const std::vector<Response>& responses,
                                    double anchor_hz);

}  // namespace lowhiss
