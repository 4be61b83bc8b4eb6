#pragma once

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// The circuit with the capsule's impedance set to zero; what the capsule hisses of itself stays.
Circuit build_ideal(const Board& board, const Capsule* capsule, double rotation);

}  // namespace lowhiss
