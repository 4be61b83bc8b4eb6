#include "lowhiss/topology/matching.hpp"

#include <deque>
#include <limits>

#include "lowhiss/circuit/index.hpp"

namespace lowhiss {
namespace {

constexpr int none = -1;
constexpr int unreached = std::numeric_limits<int>::max();

class Matcher {
  public:
    explicit Matcher(const Pattern& pattern)
        : pattern_(pattern),
          row_of_(at(pattern.columns()), none),
          column_of_(at(pattern.rows), none),
          level_(at(pattern.columns())),
          next_(at(pattern.columns())) {}

    std::vector<int> match() {
        start_greedily();
        while (label_levels()) {
            next_.assign(pattern_.start.begin(), pattern_.start.end() - 1);
            for (int column = 0; column < pattern_.columns(); ++column) {
                if (row_of_[at(column)] == none) augment(column);
            }
        }
        return std::move(row_of_);
    }

  private:
    void pair(int column, int row) {
        row_of_[at(column)] = row;
        column_of_[at(row)] = column;
    }

    int free_row(int column) const {
        for (int k = pattern_.start[at(column)]; k < pattern_.start[at(column) + 1]; ++k) {
            if (column_of_[at(pattern_.row[at(k)])] == none) return pattern_.row[at(k)];
        }
        return none;
    }

    /// Columns with a single free row left are matched first: no better choice exists.
    void start_greedily() {
        std::vector<std::vector<int>> columns_with(at(pattern_.rows));
        std::vector<int> free_rows(at(pattern_.columns()));
        for (int column = 0; column < pattern_.columns(); ++column) {
            for (int k = pattern_.start[at(column)]; k < pattern_.start[at(column) + 1]; ++k) {
                columns_with[at(pattern_.row[at(k)])].push_back(column);
                ++free_rows[at(column)];
            }
        }
        std::deque<int> forced;
        for (int column = 0; column < pattern_.columns(); ++column) {
            if (free_rows[at(column)] == 1) forced.push_back(column);
        }
        const auto take = [&](int column) {
            const int row = free_row(column);
            if (row_of_[at(column)] != none || row == none) return;
            pair(column, row);
            for (const int other : columns_with[at(row)]) {
                if (--free_rows[at(other)] == 1) forced.push_back(other);
            }
        };
        for (int column = 0; column < pattern_.columns(); ++column) {
            for (; !forced.empty(); forced.pop_front()) take(forced.front());
            take(column);
        }
        for (; !forced.empty(); forced.pop_front()) take(forced.front());
    }

    /// Breadth first from all columns without a row; says whether any way ends at a free row.
    bool label_levels() {
        std::deque<int> queue;
        for (int column = 0; column < pattern_.columns(); ++column) {
            const bool open = row_of_[at(column)] == none;
            level_[at(column)] = open ? 0 : unreached;
            if (open) queue.push_back(column);
        }
        bool found = false;
        for (; !queue.empty(); queue.pop_front()) {
            const int column = queue.front();
            for (int k = pattern_.start[at(column)]; k < pattern_.start[at(column) + 1]; ++k) {
                const int other = column_of_[at(pattern_.row[at(k)])];
                if (other == none)
                    found = true;
                else if (level_[at(other)] == unreached) {
                    level_[at(other)] = level_[at(column)] + 1;
                    queue.push_back(other);
                }
            }
        }
        return found;
    }

    /// Depth first along the levels, with the way so far on an own stack.
    void augment(int root) {
        std::vector<int> way{root};
        while (!way.empty()) {
            const int column = way.back();
            if (next_[at(column)] == pattern_.start[at(column) + 1]) {
                way.pop_back();
                if (!way.empty()) ++next_[at(way.back())];
                continue;
            }
            const int row = pattern_.row[at(next_[at(column)])];
            const int other = column_of_[at(row)];
            if (other == none) return shift_along(way);
            if (level_[at(other)] == level_[at(column)] + 1)
                way.push_back(other);
            else
                ++next_[at(column)];
        }
    }

    void shift_along(const std::vector<int>& way) {
        for (const int column : way) pair(column, pattern_.row[at(next_[at(column)]++)]);
    }

    const Pattern& pattern_;
    std::vector<int> row_of_;
    std::vector<int> column_of_;
    std::vector<int> level_;
    std::vector<int> next_;
};

}  // namespace

std::vector<int> maximum_matching(const Pattern& pattern) {
    return Matcher(pattern).match();
}

}  // namespace lowhiss
