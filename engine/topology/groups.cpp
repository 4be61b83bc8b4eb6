#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/connected_components.hpp>

#include "join_graph.hpp"

namespace lowhiss {

JoinGraph graph_of(std::size_t nodes, const std::vector<Join>& joins) {
    std::vector<std::pair<std::size_t, std::size_t>> edges;
    for (std::size_t k = 0; k < joins.size(); ++k) {
        edges.emplace_back(joins[k].a, nodes + k);
        if (joins[k].b != joins[k].a) edges.emplace_back(joins[k].b, nodes + k);
    }
    return {edges.begin(), edges.end(), nodes + joins.size()};
}

std::vector<std::vector<int>> groups_without_ground(std::size_t nodes,
                                                    const std::vector<Join>& joins) {
    const JoinGraph graph = graph_of(nodes, joins);
    std::vector<std::size_t> component(boost::num_vertices(graph));
    const auto count =
        static_cast<std::size_t>(boost::connected_components(graph, component.data()));
    std::vector<std::vector<int>> members(count);
    for (std::size_t k = 0; k < nodes; ++k) {
        members[component[k]].push_back(static_cast<int>(k));
    }
    std::erase_if(members, [](const std::vector<int>& m) { return m.empty() || m.front() == 0; });
    return members;
}

}  // namespace lowhiss
