#pragma once

#include <utility>
#include <vector>

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

// Components: takes pairs of nodes, or a circuit and the sense in which elements join nodes, and
// returns the sets of nodes that are joined.

/// Two nodes that something joins.
using NodePair = std::pair<int, int>;

/// The connected component of each of the nodes 0, 1, ... when these pairs are joined, numbered
/// from 0 in the order of their first nodes: two nodes are in the same component exactly if pairs
/// lead from one to the other, and component 0 is that of ground. Cost linear.
std::vector<int> components_of(std::size_t nodes, const std::vector<NodePair>& pairs);

/// Pairs of nodes that are one node for signals: the ends of exact shorts, of voltage sources
/// without resistance and of regulator outputs without resistance. The capsule's electromotive
/// force is a signal and is left out.
std::vector<NodePair> tied_pairs(const Circuit& circuit);

/// The paths of signals through passive parts.
struct PassiveWays {
    /// Both ends of every resistance, capacitance, inductance, short, measured impedance and
    /// junction, and every end of one winding with every end of the other.
    std::vector<NodePair> pairs;

    /// One entry per node: true for ground and for nodes driven by an output (of an amplifier, a
    /// regulator or a controlled voltage against ground). A signal that reaches one ends there.
    std::vector<bool> held;
};
PassiveWays passive_ways(const Circuit& circuit);

/// Pairs of nodes between which a direct current can flow, the outputs of amplifiers leading to
/// ground and both sides of a regulator to its reference. Current sources are left out, since their
/// currents do not depend on the voltages between their ends.
std::vector<NodePair> direct_pairs(const Circuit& circuit);

}  // namespace lowhiss
