#pragma once

#include <span>

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// What the graph of a circuit says before any number is computed: errors where no values could
/// give a unique solution, warnings where it is likely not what was meant. The circuit is one that
/// was built from this board; where a knob's end is a short, the answer is that position's.
///
///   error    no-path-to-ground     nodes that no current leaves for the rest of the circuit
///   error    only-current-sources  ... but for what current sources command
///   error    loop-of-shorts        shorts, voltage sources and ideal outputs in a ring
///   error    no-unique-solution    equations that no values can make independent; only looked for
///                                  where none of the others is found
///   warning  no-direct-path        nodes, input pins above all, that no direct current can leave
///   warning  lone-pin              a node that one pin alone is on
///   warning  shorted-part          a part with its ends on one node
///   warning  no-feedback           an op-amp whose output does not come back to its minus input
///
/// An error is never false: the equations of such a circuit are singular at every frequency. Nor is
/// a singular structure missed, but where nodes hang on transconductances or current gains alone,
/// where current-controlled sources close a ring of shorts, and where a preamp IC's reference is
/// not ground; there, and where values cancel by chance, the solver has the last word.
///
/// Errors first, then warnings, each in the board's order. Names the first part by the diagnostic's
/// position, all others with their lines. Cost n log n.
Diagnostics check_topology(const Board& assembled, const Circuit& circuit);

/// The same for an assembly over several rotations of its knob, each finding once, errors first: a
/// short at the end of a track is there at that rotation only.
Diagnostics check_assembly(const Board& assembled, const Capsule* capsule,
                           std::span<const double> rotations);

}  // namespace lowhiss
