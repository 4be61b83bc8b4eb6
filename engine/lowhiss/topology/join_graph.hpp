#pragma once

#include <boost/graph/adjacency_list.hpp>

#include "lowhiss/topology/joins.hpp"

namespace lowhiss {

/// Vertices are the nodes 0, 1, ... and behind them the joins, each connected to its two nodes, so
/// that the elements of a path are known and parallel parts make no parallel edges.
using JoinGraph = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS>;

JoinGraph graph_of(std::size_t nodes, const std::vector<Join>& joins);

}  // namespace lowhiss
