// The matching is compared with another implementation, that of Boost.Graph.

#include "lowhiss/topology/matching.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/max_cardinality_matching.hpp>

#include <random>
#include <set>

#include "support/catch.hpp"

namespace lowhiss::matching_test {

Pattern random_pattern(unsigned seed) {
    std::mt19937 random(seed);
    Pattern pattern{static_cast<int>(1 + random() % 40), {0}, {}};
    const auto columns = static_cast<unsigned>(1 + random() % 40);
    const auto densest = static_cast<unsigned>(1 + random() % 4);
    for (unsigned column = 0; column < columns; ++column) {
        std::set<int> rows;
        for (auto k = random() % (densest + 1); k > 0; --k) {
            rows.insert(static_cast<int>(random() % static_cast<unsigned long>(pattern.rows)));
        }
        pattern.row.insert(pattern.row.end(), rows.begin(), rows.end());
        pattern.start.push_back(static_cast<int>(pattern.row.size()));
    }
    return pattern;
}

std::size_t size_by_boost(const Pattern& pattern) {
    using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS>;
    const auto columns = static_cast<std::size_t>(pattern.columns());
    Graph graph(columns + static_cast<std::size_t>(pattern.rows));
    for (std::size_t column = 0; column < columns; ++column) {
        for (int k = pattern.start[column]; k < pattern.start[column + 1]; ++k) {
            const auto row = static_cast<std::size_t>(pattern.row[static_cast<std::size_t>(k)]);
            boost::add_edge(column, columns + row, graph);
        }
    }
    std::vector<boost::graph_traits<Graph>::vertex_descriptor> mate(boost::num_vertices(graph));
    boost::edmonds_maximum_cardinality_matching(graph, mate.data());
    return boost::matching_size(graph, mate.data());
}

/// The number of pairs; fails if one is not in the pattern or a row occurs twice.
std::size_t checked_size(const Pattern& pattern, const std::vector<int>& row_of) {
    std::set<int> rows;
    for (std::size_t column = 0; column < row_of.size(); ++column) {
        if (row_of[column] < 0) continue;
        const auto first = pattern.row.begin() + pattern.start[column];
        const auto last = pattern.row.begin() + pattern.start[column + 1];
        CHECK(std::find(first, last, row_of[column]) != last);
        CHECK(rows.insert(row_of[column]).second);
    }
    return rows.size();
}

TEST_CASE("a matching is one, and none is larger") {
    for (unsigned seed = 0; seed < 2000; ++seed) {
        INFO("seed " << seed);
        const Pattern pattern = random_pattern(seed);
        CHECK(checked_size(pattern, maximum_matching(pattern)) == size_by_boost(pattern));
    }
}

TEST_CASE("a matching without columns or rows") {
    CHECK(maximum_matching({0, {0}, {}}).empty());
    CHECK(maximum_matching({0, {0, 0}, {}}) == std::vector<int>{-1});
}

}  // namespace lowhiss::matching_test
