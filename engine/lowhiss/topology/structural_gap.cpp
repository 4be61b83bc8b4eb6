#include <numeric>

#include "lowhiss/circuit/owners.hpp"
#include "lowhiss/topology/findings.hpp"
#include "lowhiss/topology/places.hpp"

namespace lowhiss {
namespace {

/// A set of equations and unknowns of unequal number: more `rows` than `columns` if no other
/// unknowns occur in these equations, more `columns` than `rows` if these unknowns occur in no
/// others.
struct Block {
    std::vector<int> rows;
    std::vector<int> columns;
};

using Lists = std::vector<std::vector<int>>;

/// Everything that alternating paths from an unmatched index reach: across to each index it
/// touches, back along the matching. `touched[k]` are the indices that k touches, `partner` the
/// match of each of those.
Block reach(int start, const Lists& touched, const std::vector<int>& partner) {
    Block block{{start}, {}};
    std::vector<bool> seen(partner.size());
    for (std::size_t k = 0; k < block.rows.size(); ++k) {
        for (const int across : touched[static_cast<std::size_t>(block.rows[k])]) {
            if (seen[static_cast<std::size_t>(across)]) continue;
            seen[static_cast<std::size_t>(across)] = true;
            block.columns.push_back(across);
            block.rows.push_back(partner[static_cast<std::size_t>(across)]);
        }
    }
    return block;
}

/// The unmatched equations and unknowns of a pattern, in pairs, and the block of unequal numbers
/// that each belongs to.
class Gaps {
  public:
    explicit Gaps(const Pattern& pattern)
        : row_of_(maximum_matching(pattern)), column_of_(row_of_.size(), -1) {
        for (std::size_t column = 0; column < row_of_.size(); ++column) {
            if (row_of_[column] < 0)
                free_columns_.push_back(static_cast<int>(column));
            else
                column_of_[static_cast<std::size_t>(row_of_[column])] = static_cast<int>(column);
        }
        for (std::size_t row = 0; row < column_of_.size(); ++row) {
            if (column_of_[row] < 0) free_rows_.push_back(static_cast<int>(row));
        }
        if (!free_rows_.empty()) list_places(pattern);
    }

    std::size_t count() const { return free_rows_.size(); }

    Block overfull_equations(std::size_t k) const {
        return reach(free_rows_[k], columns_in_, row_of_);
    }
    Block overfull_unknowns(std::size_t k) const {
        Block block = reach(free_columns_[k], rows_with_, column_of_);
        std::swap(block.rows, block.columns);
        return block;
    }

  private:
    void list_places(const Pattern& pattern) {
        columns_in_.resize(row_of_.size());
        rows_with_.resize(row_of_.size());
        for (int column = 0; column < pattern.columns(); ++column) {
            const auto c = static_cast<std::size_t>(column);
            for (int k = pattern.start[c]; k < pattern.start[c + 1]; ++k) {
                const int row = pattern.row[static_cast<std::size_t>(k)];
                columns_in_[static_cast<std::size_t>(row)].push_back(column);
                rows_with_[c].push_back(row);
            }
        }
    }

    std::vector<int> row_of_, column_of_;
    std::vector<int> free_rows_, free_columns_;
    Lists columns_in_, rows_with_;
};

class Reporter {
  public:
    explicit Reporter(const Netlist& netlist)
        : netlist_(netlist), parts_by_unknown_(parts_by_unknown(netlist.circuit)) {}

    /// Describes the smaller of the two blocks, which is nearer to the cause.
    Finding finding_of(const Gaps& gaps, std::size_t k) const {
        const Block equations = gaps.overfull_equations(k);
        const Block unknowns = gaps.overfull_unknowns(k);
        const bool over = equations.rows.size() <= unknowns.columns.size();
        const std::vector<int> parts = parts_of(over ? equations.rows : unknowns.columns);
        Finding result = finding(netlist_, Severity::error, "no-unique-solution", parts.front());
        Diagnostic& d = result.diagnostic;
        d.found = over ? overfull(equations) : underfull(unknowns);
        d.found += other_parts(netlist_, parts, "; also involved: ");
        d.accepted = "as many independent equations as unknown voltages and currents";
        d.advice =
            "look for a source that controls itself, or for a controlled source whose control "
            "voltage nothing determines";
        return result;
    }

  private:
    std::string overfull(const Block& block) const {
        const std::size_t count = block.rows.size();
        if (block.columns.empty()) return "no unknown occurs in its equation";
        return fmt::format("{} equations contain no unknown but {}: they cannot be independent",
                           count, listed_unknowns(block.columns));
    }

    std::string underfull(const Block& block) const {
        const std::string unknowns = listed_unknowns(block.columns);
        if (block.rows.empty()) return fmt::format("no equation contains {}", unknowns);
        return fmt::format("only {} equation{} {}: they do not determine all of these",
                           block.rows.size(), block.rows.size() == 1 ? " contains" : "s contain",
                           unknowns);
    }

    /// Nodes first, in the board's order.
    std::string listed_unknowns(std::vector<int> unknowns) const {
        const int nodes = static_cast<int>(netlist_.circuit.nodes.size()) - 1;
        std::sort(unknowns.begin(), unknowns.end(), [&](int a, int b) {
            return a < nodes && b < nodes ? stands_before(netlist_, a + 1, b + 1) : a < b;
        });
        std::vector<std::string> words;
        words.reserve(unknowns.size());
        for (const int k : unknowns) {
            words.push_back(text_of_unknown(netlist_.circuit, k));
        }
        return phrase(words);
    }

    /// Parts that the unknowns, or equations of the same numbers, are about.
    std::vector<int> parts_of(const std::vector<int>& numbers) const {
        std::vector<int> parts;
        for (const int k : numbers) {
            const std::vector<int>& some = parts_by_unknown_[static_cast<std::size_t>(k)];
            parts.insert(parts.end(), some.begin(), some.end());
        }
        if (parts.empty()) return {load_index(netlist_.circuit)};
        std::sort(parts.begin(), parts.end());
        parts.erase(std::unique(parts.begin(), parts.end()), parts.end());
        return parts;
    }

    const Netlist& netlist_;
    std::vector<std::vector<int>> parts_by_unknown_;
};

}  // namespace

void find_structural_gap(const Netlist& netlist, Findings& out) {
    const Gaps gaps(places_of(netlist.circuit));
    if (gaps.count() == 0) return;
    std::vector<std::size_t> numbers(gaps.count());
    std::iota(numbers.begin(), numbers.end(), 0U);
    const Reporter reporter(netlist);
    report(
        numbers, [&](std::size_t k) { return reporter.finding_of(gaps, k); }, out);
}

}  // namespace lowhiss
