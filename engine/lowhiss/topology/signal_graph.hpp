#pragma once

#include <boost/graph/adjacency_list.hpp>

#include <string>
#include <unordered_map>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// The paths of signals on an assembled board. Vertices are the nodes (0 is ground) and behind them
/// the gates, each of which passes signals from some pins of a part to others. The graph is
/// directed because amplifiers pass nothing back. Nodes that are ground for signals have no arcs. A
/// node that an amplifier's output drives has arcs only from that amplifier, since the output
/// overrides what else arrives there.
struct SignalGraph {
    using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS>;

    struct Gate {
        const Part* part;  ///< null for the capsule and the load
        std::string name;
        std::vector<int> in, out;
        bool holds_out = false;
    };

    std::vector<std::string> nodes;
    std::unordered_map<std::string, int> node_index;
    std::vector<bool> grounded;  ///< of each node: tied to ground by shorts and voltage sources
    std::vector<Gate> gates;
    Graph graph;

    int node(const std::string& name) const { return node_index.at(name); }
    const Gate& gate(std::size_t vertex) const { return gates[vertex - nodes.size()]; }
};

enum class Signals {
    all,
    direct,  ///< direct current: nothing passes a capacitor, or from winding to winding
};

SignalGraph signal_graph_of(const Board& assembled, Signals which = Signals::all);

}  // namespace lowhiss
