#pragma once

#include <span>

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

// Topology: takes a board and its circuit and returns the mistakes that its graph shows before any
// number is computed.

/// An error is a structure that has no unique solution for any values; a warning, a circuit that is
/// probably not what was meant. The circuit must be built from this board; if the end of a track is
/// a short, the result holds for that rotation only.
///
///   error    no-path-to-ground     nodes without a connection to the rest of the circuit
///   error    only-current-sources  nodes that only current sources connect to the rest
///   error    loop-of-shorts        a loop of shorts, voltage sources and ideal outputs
///   error    no-unique-solution    equations that no values can make independent; searched only if
///                                  none of the errors above is found
///   warning  no-direct-path        nodes, mainly inputs, without a path for direct current
///   warning  lone-pin              a node with a single pin
///   warning  shorted-part          a part with both ends on one node
///   warning  no-feedback           an op-amp without a path from its output to its minus input
///   warning  inputs-exchanged      the same, with a path for direct current to its plus input
///   warning  output-on-ground      an op-amp that drives ground
///
/// Every error is real: the equations of such a circuit are singular at every frequency. Singular
/// structures that are not found here are left to the solver: nodes connected by transconductances
/// or current gains only, current-controlled sources that close a loop of shorts, preamp ICs whose
/// reference is not ground, and values that happen to cancel.
///
/// Errors first, then warnings, each in the board's order. The position of a diagnostic is that of
/// its first part; the others are named with their lines. Cost n log n.
Diagnostics check_topology(const Board& assembled, const Circuit& circuit);

/// The findings at several rotations of the knob, each once, errors first: a short at the end of a
/// track exists at that rotation only.
Diagnostics check_assembly(const Board& assembled, const Capsule* capsule,
                           std::span<const double> rotations);

}  // namespace lowhiss
