#include <algorithm>
#include <cmath>
#include <map>

#include "write/best_case.hpp"
#include "write/knob_positions.hpp"
#include "write/run_tables.hpp"
#include "write/table.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t most_noise_rows = 10;

/// A mechanism of a part, with its share at each shown position.
struct NoiseRow {
    std::string part;
    Mechanism mechanism;
    std::vector<double> shares;

    /// Counts those that are known.
    double largest() const {
        double most = 0;
        for (const double share : shares) most = std::fmax(most, share);
        return most;
    }
};

std::vector<NoiseRow> noise_rows(const SweepRun& run) {
    std::map<std::pair<std::string, Mechanism>, std::vector<double>> shares;
    const auto positions = shown_positions(run);
    for (std::size_t column = 0; column < positions.size(); ++column) {
        for (const NoiseShare& share : run.knob[positions[column]].noise_by_part) {
            auto& row = shares[{share.part, share.mechanism}];
            row.resize(positions.size());
            row[column] = share.share;
        }
    }
    std::vector<NoiseRow> rows;
    rows.reserve(shares.size());
    for (const auto& [key, values] : shares) rows.push_back({key.first, key.second, values});
    return rows;
}

/// A mechanism that is large at any shown position has a row of its own; the others share one.
std::vector<NoiseRow>::iterator end_of_shown(std::vector<NoiseRow>& rows) {
    std::stable_sort(rows.begin(), rows.end(), [](const NoiseRow& a, const NoiseRow& b) {
        return a.largest() > b.largest();
    });
    const auto small = std::find_if(rows.begin(), rows.end(), [](const NoiseRow& row) {
        return row.largest() < smallest_share_shown;
    });
    const auto most =
        rows.begin() + static_cast<std::ptrdiff_t>(std::min(most_noise_rows, rows.size()));
    return std::min(small, most);
}

std::vector<std::string> noise_cells(std::string part, std::string mechanism,
                                     const std::vector<double>& shares) {
    std::vector<std::string> cells{std::move(part), std::move(mechanism)};
    for (const double share : shares) cells.push_back(fixed(100 * share, 1));
    return cells;
}

}  // namespace

std::string noise_table(const SweepRun& run) {
    Table table(2);
    table.heading(position_heading(run, {"part", "mechanism"}));
    std::vector<NoiseRow> rows = noise_rows(run);
    const auto end = end_of_shown(rows);
    const auto last = [](const NoiseRow& row) { return std::fmax(row.shares.back(), 0); };
    std::stable_sort(rows.begin(), end,
                     [&](const NoiseRow& a, const NoiseRow& b) { return last(a) > last(b); });
    for (auto row = rows.begin(); row != end; ++row) {
        table.row(
            noise_cells(cut(row->part, 12), std::string(text_of(row->mechanism)), row->shares));
    }
    std::vector<double> others(shown_positions(run).size());
    for (auto row = end; row != rows.end(); ++row) {
        for (std::size_t k = 0; k < others.size(); ++k) {
            if (!std::isnan(row->shares[k])) others[k] += row->shares[k];
        }
    }
    if (*std::max_element(others.begin(), others.end()) > 0) {
        table.row(noise_cells("others", "", others));
    }
    return table.text() + best_case_note(run, {"output_noise"});
}

}  // namespace lowhiss::cli
