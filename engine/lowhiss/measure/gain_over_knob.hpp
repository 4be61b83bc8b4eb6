#pragma once

#include "lowhiss/measure/registry.hpp"

namespace lowhiss {

// Measures from the gains at all knob positions, in dB, and their slopes in the units of
// PartSensitivity. Unset if one of the positions has no gain.

/// Most gain less least gain.
MeasureValue gain_range(MeasureRecord::Gains gains_db, const MeasureArguments& arguments);
MeasureRecord::Slopes gain_range_slope(MeasureRecord::Sensitivities sensitivities,
                                       const MeasureArguments& arguments);

/// The largest difference of gain between neighbouring positions.
MeasureValue gain_step(MeasureRecord::Gains gains_db, const MeasureArguments& arguments);
MeasureRecord::Slopes gain_step_slope(MeasureRecord::Sensitivities sensitivities,
                                      const MeasureArguments& arguments);

}  // namespace lowhiss
