#include <algorithm>

#include "lowhiss/topology/components.hpp"
#include "lowhiss/topology/join_graph.hpp"

namespace lowhiss {

JoinGraph graph_of(std::size_t nodes, const std::vector<Join>& joins) {
    std::vector<std::pair<std::size_t, std::size_t>> edges;
    for (std::size_t k = 0; k < joins.size(); ++k) {
        edges.emplace_back(joins[k].a, nodes + k);
        if (joins[k].b != joins[k].a) edges.emplace_back(joins[k].b, nodes + k);
    }
    return {edges.begin(), edges.end(), nodes + joins.size()};
}

std::vector<NodePair> pairs_of(const std::vector<Join>& joins) {
    std::vector<NodePair> pairs;
    pairs.reserve(joins.size());
    for (const Join& join : joins) pairs.emplace_back(join.a, join.b);
    return pairs;
}

std::vector<std::vector<int>> groups_without_ground(const Netlist& netlist,
                                                    const std::vector<Join>& joins) {
    const std::size_t nodes = netlist.on_node.size();
    const std::vector<int> component = components_of(nodes, pairs_of(joins));
    std::vector<std::vector<int>> groups(nodes);
    for (std::size_t k = 0; k < nodes; ++k) {
        if (component[k] == component[0]) continue;
        groups[static_cast<std::size_t>(component[k])].push_back(static_cast<int>(k));
    }
    const auto earlier = [&](int a, int b) { return stands_before(netlist, a, b); };
    for (auto& group : groups) std::sort(group.begin(), group.end(), earlier);
    std::erase_if(groups, [&](const std::vector<int>& group) {
        return group.empty() || is_inner(netlist, group.front());
    });
    std::sort(groups.begin(), groups.end(),
              [&](const auto& a, const auto& b) { return earlier(a.front(), b.front()); });
    return groups;
}

}  // namespace lowhiss
