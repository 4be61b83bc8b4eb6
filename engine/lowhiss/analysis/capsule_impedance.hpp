#pragma once

#include "lowhiss/board/model.hpp"
#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The impedance of a capsule by the laws of its kind; 0 for an ideal source, which is null.
Complex impedance_of(const Capsule* capsule, double frequency_hz);

}  // namespace lowhiss
