#pragma once

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/topology/matching.hpp"

namespace lowhiss {

/// The unknowns (columns) that occur in each equation (row) of a circuit, by the laws of
/// circuit.hpp and whatever the values. A resistance of exactly zero and the difference of a
/// voltage and itself do not occur.
Pattern places_of(const Circuit& circuit);

}  // namespace lowhiss
