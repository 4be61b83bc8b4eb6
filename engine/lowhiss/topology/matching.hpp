#pragma once

#include <vector>

namespace lowhiss {

/// Rows that each column may be matched with: column j's are row[start[j]] to row[start[j + 1]].
struct Pattern {
    int rows = 0;
    std::vector<int> start;
    std::vector<int> row;

    int columns() const { return static_cast<int>(start.size()) - 1; }
};

/// A largest set of pairs of a row and a column with no row and no column twice: the row of each
/// column, or -1. Its size is the structural rank: no values in the pattern's places can give more.
///
/// Hopcroft and Karp 1973, after a greedy start that takes forced choices first (Karp and Sipser
/// 1981). Cost  edges times the square root of columns at worst, near linear for circuits. Needs no
/// recursion, which the general matching of Boost.Graph does, as deep as the longest path.
std::vector<int> maximum_matching(const Pattern& pattern);

}  // namespace lowhiss
