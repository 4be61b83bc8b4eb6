#pragma once

#include <boost/graph/adjacency_list.hpp>

#include "lowhiss/topology/joins.hpp"

namespace lowhiss {

/// Nodes 0, 1, ... and behind them the joins, each an own vertex between its two nodes: parallel
/// parts then make no parallel edges.
using JoinGraph = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS>;

JoinGraph graph_of(std::size_t nodes, const std::vector<Join>& joins);

}  // namespace lowhiss
