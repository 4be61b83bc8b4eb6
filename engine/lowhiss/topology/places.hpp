#pragma once

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/topology/matching.hpp"

namespace lowhiss {

/// Which unknowns (columns) stand in which equations (rows) of a circuit, whatever the values: a
/// resistance of exactly zero and the difference of a voltage with itself leave no place. The laws
/// are those of circuit.hpp.
Pattern places_of(const Circuit& circuit);

}  // namespace lowhiss
