#pragma once

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// What the graph of a circuit says before any number is computed: errors where no values could
/// give a unique solution, warnings where it is likely not what was meant.
Diagnostics check_topology(const Board& assembled, const Circuit& circuit);

}  // namespace lowhiss
