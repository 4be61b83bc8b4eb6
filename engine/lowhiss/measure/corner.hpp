#pragma once

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {

enum class Corner { low, high };

/// The first frequency below (low) or above (high) 1 kHz at which |gain| is 3.0103 dB, half the
/// power, under that of `reference`, the response at 1 kHz. Found by root search, 1e-10 relative;
/// unset when there is none from 1 mHz to 1 GHz or as far as the capsule was measured. A dip
/// narrower than an eighth of a decade may be passed over.
double corner_hz(Network& network, const Response& reference, Corner which);

}  // namespace lowhiss
