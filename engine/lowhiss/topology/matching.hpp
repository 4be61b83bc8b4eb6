#pragma once

#include <vector>

namespace lowhiss {

/// Rows that each column may be matched with: those of column j are row[start[j]] to
/// row[start[j + 1] - 1].
struct Pattern {
    int rows = 0;
    std::vector<int> start;
    std::vector<int> row;

    int columns() const { return static_cast<int>(start.size()) - 1; }
};

/// A largest set of pairs of a row and a column in which no row and no column occurs twice: the row
/// of each column, or -1. Its size is the structural rank, the highest rank that any values in
/// these places can give.
///
/// The algorithm of Hopcroft and Karp ("An n^5/2 algorithm for maximum matchings in bipartite
/// graphs", SIAM Journal on Computing 2, 1973), after a greedy start that takes forced choices
/// first (Karp and Sipser, "Maximum matching in sparse random graphs", FOCS 1981). Cost at worst
/// edges times the square root of columns, near linear for circuits. It does not recurse; the
/// general matching of Boost.Graph recurses as deep as the longest path.
std::vector<int> maximum_matching(const Pattern& pattern);

}  // namespace lowhiss
