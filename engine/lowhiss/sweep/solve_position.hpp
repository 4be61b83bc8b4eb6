#pragma once

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss {

class Setting;

/// One knob position of a sweep, from a setting that may have solved something already. Throws as
/// Network::respond.
KnobResult solve_position(Setting& setting, const SweepRequest& request);

}  // namespace lowhiss
