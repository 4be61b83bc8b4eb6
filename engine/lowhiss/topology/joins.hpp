#pragma once

#include <vector>

#include "lowhiss/topology/components.hpp"
#include "lowhiss/topology/netlist.hpp"

namespace lowhiss {

/// Two nodes that an element joins, in the sense of the list that it is in.
struct Join {
    int element;
    int a, b;
};

/// A circuit as graphs of its nodes, one for each question that decides whether G + sC can have
/// full rank. S is any set of nodes without ground.
struct Joins {
    /// Between the nodes flows a current that an equation of the circuit determines. If no join
    /// leaves S, the current laws of S add up to 0 = 0.
    std::vector<Join> current;

    /// Some law contains the voltage between the nodes. If no join leaves S, adding a voltage to
    /// all nodes of S changes nothing.
    std::vector<Join> sensed;

    /// Currents that occur in the current laws of the nodes only. Any current may flow in a loop
    /// of them.
    std::vector<Join> unopposed;

    /// Laws that contain v(a) - v(b) and nothing else. Around a loop of them they add up to 0 = 0.
    std::vector<Join> fixed;

    /// An intended path for direct current: not through capacitors and their leakage, nor through
    /// an amplifier's inputs.
    std::vector<Join> direct;
};

Joins joins_of(const Netlist& netlist);

std::vector<NodePair> pairs_of(const std::vector<Join>& joins);

/// The connected sets of nodes that do not contain ground; nodes and sets in the board's order.
/// Sets of nodes that exist only inside a macromodel are left out. Cost n log n.
std::vector<std::vector<int>> groups_without_ground(const Netlist& netlist,
                                                    const std::vector<Join>& joins);

}  // namespace lowhiss
