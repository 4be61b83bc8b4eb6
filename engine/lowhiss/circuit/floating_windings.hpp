#pragma once

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// Nodes that only a transformer joins to the rest of the circuit, such as its secondary with a
/// load, have voltages between them but none against ground. One of them is tied to ground by a
/// conductance: no current can flow through it, so that nothing else changes. A group that is
/// sensed or fed by anything else is left as it is, and so is a transformer that is connected to
/// nothing.
void hold_floating_windings(Circuit& circuit);

}  // namespace lowhiss
