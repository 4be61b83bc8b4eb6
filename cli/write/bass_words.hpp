#pragma once

#include <string>

#include "lowhiss/measure/part_rolloff.hpp"

namespace lowhiss::cli {

/// "C6", "T1 (primary inductance)" or "the capsule's impedance"
std::string bass_cause_text(const PartRolloff& cause);

/// "C3 and C4 together: 0.26 of 0.39 dB; neither alone more than 0.05 dB". Of two causes or more.
std::string interaction_text(const PartBassLoss& loss, int decimals);

}  // namespace lowhiss::cli
