#pragma once

#include <vector>

#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

/// Group delay, -d phase / d omega, in s.
double group_delay_s(const Response& response);

/// The phases of the responses (ascending frequencies), in radians, continuous in frequency.
/// Between two of them the network is solved at further frequencies until no step can hide a turn.
/// Beyond a frequency where there is no gain, or where that does not end, phases are unset. The
/// phase at `anchor_hz` is in (-pi, pi], so that the result does not depend on where the list
/// starts.
std::vector<double> unwrapped_phase(Network& network, const std::vector<Response>& responses,
                                    double anchor_hz);

}  // namespace lowhiss
