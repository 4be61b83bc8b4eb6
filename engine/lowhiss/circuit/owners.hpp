#pragma once

#include <vector>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

// Owners: takes a circuit and one of its unknowns, and returns the parts that a message about the
// unknown should name.

/// The nodes that an element is connected to: its ends, inputs, control and supply pins. An element
/// that only couples others has none.
std::vector<int> terminals_of(const ElementLaw& law);

/// The parts that each unknown, and the equation of the same number, is about, in ascending order:
/// the part that adds it or, for the voltage of a node of the board, every part with an element
/// connected there. Empty for a node without elements. Cost linear.
std::vector<std::vector<int>> parts_by_unknown(const Circuit& circuit);

/// The first of the parts that an unknown is about, for a message that names one; -1 if there is
/// none.
int owner_of(const Circuit& circuit, int unknown);

/// Sets position and subject of a diagnostic to those of a part; for -1 the position is the file as
/// a whole.
void point_at(const Circuit& circuit, int part, Diagnostic& diagnostic);

}  // namespace lowhiss
