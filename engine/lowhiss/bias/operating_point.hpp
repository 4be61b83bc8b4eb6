#pragma once

#include <optional>
#include <vector>

#include "lowhiss/bias/direct.hpp"
#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

// The operating point: takes a circuit and returns its direct voltages and currents and the state
// of each element. From there on small signals are linear.

/// The direct voltages and currents of a circuit without any signal.
struct OperatingPoint {
    std::vector<double> x;          ///< of each unknown
    std::vector<ElementBias> bias;  ///< of each element

    double node_v(int node) const { return direct_voltage(x, node); }
};

/// Newton's method on the linear pieces and exponentials of bias/direct.hpp, each step solved by
/// the pivoting path, which checks its backward error. Junctions start conducting, Zener diodes in
/// breakdown, JFETs at half their pinch-off voltage, and the steps of junctions are damped. The
/// outputs of amplifiers stay between their rails until the other elements have settled, for at
/// most 25 steps. From step 60 on every step is halved; 200 steps are the limit. If the search
/// fails, all sources are raised in tenths of their values, each from the solution before; then
/// both searches are repeated with all junctions starting at 0 V; and then the gain of op-amps is
/// raised from 1, each step from the solution before; and then conductances across the transistors
/// fall from 10 mS to nothing.
///
/// Converged when no element changes its state and, between two steps, no node moves by more than 1
/// nV plus 1e-9 of its voltage nor any junction from the voltage of its tangent. If there is more
/// than one solution, as with positive feedback, the result is one of them.
///
/// Throws Error (no_unique_solution) with code no-operating-point. If the steps do not settle it
/// names the element without which the rest would settle, else the first that has not settled, else
/// a part at the node that moves most; if the equations are singular, the part whose unknown is not
/// determined.
OperatingPoint operating_point(const Circuit& circuit);

/// Whether the small-signal law of any element depends on the operating point.
bool needs_operating_point(const Circuit& circuit);

/// The circuit for small signals: `built` with its junctions, transistors and regulators, if it has
/// any, made linear about the operating point. `point` may hold that already, also from a circuit
/// that differs in the capacitances at the end of its elements; otherwise it is found if needed,
/// and left there. Throws as operating_point does.
Circuit small_signal_circuit(Circuit built, std::optional<OperatingPoint>& point);

/// The same for one circuit, with an operating point that is not kept.
Circuit small_signal_circuit(const Board& assembled, double rotation, const Capsule* capsule,
                             Drive drive = Drive::differential);

}  // namespace lowhiss
