#pragma once

#include <vector>

#include "lowhiss/topology/components.hpp"
#include "lowhiss/topology/netlist.hpp"

namespace lowhiss {

/// Two nodes that an element joins, in the sense of the list it stands in.
struct Join {
    int element;
    int a, b;
};

/// A circuit as graphs of its nodes, one for each question that decides whether G + sC can have
/// full rank. S is a set of nodes without ground, 1 the vector that is one on S.
struct Joins {
    /// Where a current can flow and an equation of the circuit says how much. Does none leave S,
    /// then the current laws of S add up to 0 = 0.
    std::vector<Join> current;

    /// Whose voltage some law takes. Does none leave S, then adding a voltage to all of S changes
    /// nothing.
    std::vector<Join> sensed;

    /// Currents that no law but the nodes' speaks of. In a loop of them any current may flow.
    std::vector<Join> unopposed;

    /// Laws that say v(a) - v(b) and nothing else. Around a loop of them they add up to 0 = 0.
    std::vector<Join> fixed;

    /// Where a direct current has a way that somebody meant it to have: neither through capacitors
    /// and their leakage nor through an amplifier's inputs.
    std::vector<Join> direct;
};

Joins joins_of(const Netlist& netlist);

std::vector<NodePair> pairs_of(const std::vector<Join>& joins);

/// Sets of connected nodes among which ground is not: nodes and sets in the board's order. Sets of
/// nodes that exist only inside a macromodel are left out. Cost n log n.
std::vector<std::vector<int>> groups_without_ground(const Netlist& netlist,
                                                    const std::vector<Join>& joins);

}  // namespace lowhiss
