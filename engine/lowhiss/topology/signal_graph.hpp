#pragma once

#include <boost/graph/adjacency_list.hpp>

#include <string>
#include <unordered_map>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// Where a signal can go on an assembled board. Vertices are the nodes (0 is ground) and behind
/// them the gates: what a part passes on, from some of its pins to some. A directed graph, since an
/// amplifier passes nothing back. Nodes that are ground to a signal have no arcs, and into a node
/// that an amplifier's output holds only that amplifier leads: the output swallows the rest.
struct SignalGraph {
    using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS>;

    struct Gate {
        const Part* part;  ///< null: the capsule or the load
        std::string name;
        std::vector<int> in, out;
        bool holds_out = false;
    };

    std::vector<std::string> nodes;
    std::unordered_map<std::string, int> node_index;
    std::vector<bool> grounded;  ///< of each node: ground, or tied to it by shorts and sources
    std::vector<Gate> gates;
    Graph graph;

    int node(const std::string& name) const { return node_index.at(name); }
    const Gate& gate(std::size_t vertex) const { return gates[vertex - nodes.size()]; }
};

SignalGraph signal_graph_of(const Board& assembled);

}  // namespace lowhiss
