#pragma once

#include <optional>
#include <vector>

#include "lowhiss/bias/direct.hpp"
#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// All direct voltages and currents of a circuit, none of its signals being there.
struct OperatingPoint {
    std::vector<double> x;          ///< of each unknown
    std::vector<ElementBias> bias;  ///< of each element
    int iterations = 0;

    double node_v(int node) const { return direct_voltage(x, node); }
};

/// By Newton's method on the straight pieces and exponentials of equations/direct.hpp, each step
/// solved by the pivoting path, which checks its backward error. Junctions begin where they
/// conduct, Zener diodes in their breakdown, and follow damped; amplifiers are held between their
/// rails until the others have settled, for 25 steps at most; from 60 steps on all steps are
/// halved, and 200 are the most. Where that does not settle, all sources are brought up from a
/// tenth of theirs, each time from the last solution; then both again with junctions that begin at
/// rest.
///
/// Converged when no element changes its piece and, between two steps, no node moves by more than
/// 1 nV plus 1e-9 of itself nor any junction from where its law was taken. Where there is more than
/// one solution, as with positive feedback, it is one of them.
///
/// Throws Error (no_unique_solution) with code no-operating-point, naming what did not settle.
OperatingPoint operating_point(const Circuit& circuit);

/// Whether small signals see an element otherwise than its drawing says, by the operating point.
bool needs_operating_point(const Circuit& circuit);

/// The circuit for small signals: `built` with its junctions and regulators linearised about the
/// operating point, if it has any. `point` is that operating point where the caller knows it, from
/// a circuit with the same elements in the same order but for capacitances without an unknown;
/// otherwise it is found if it is needed, and left in `point`. Throws as operating_point does.
Circuit small_signal_circuit(Circuit built, std::optional<OperatingPoint>& point);

/// The same for one circuit that nothing else is asked about.
Circuit small_signal_circuit(const Board& assembled, double rotation, const Capsule* capsule,
                             Drive drive = Drive::differential);

}  // namespace lowhiss
