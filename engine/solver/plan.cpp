#include "lowhiss/solver/plan.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "matrix.hpp"

namespace lowhiss {
namespace {

constexpr int largest_planned = 200;
constexpr double threshold = 0.05;
constexpr std::array representative_hz{20.0, 1e3, 5e4};

struct Pivot {
    int row = -1;
    int column = -1;
};

/// The elimination carried out on dense values at each representative frequency, while the pattern
/// is followed in slots.
class Planner {
  public:
    explicit Planner(const Pencil& pencil) : n_(pencil.size), slot_(area(), -1) {
        program_.slots = pencil.slots();
        for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            slot_[at(static_cast<int>(row), static_cast<int>(column))] = static_cast<int>(slot);
        });
        std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
        for (std::size_t f = 0; f < representative_hz.size(); ++f) {
            evaluate(pencil, representative_hz[f], values);
            const Scaling scaling = equilibrate(pencil, values);
            dense_[f].assign(area(), 0);
            for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
                dense_[f][at(static_cast<int>(row), static_cast<int>(column))] =
                    values[slot] * scaling.row[row] * scaling.column[column];
            });
        }
        for (int k = 0; k < n_; ++k) {
            rows_.push_back(k);
            columns_.push_back(k);
        }
    }

    std::optional<Program> plan() {
        program_.lower_start.push_back(0);
        program_.upper_start.push_back(0);
        while (!rows_.empty()) {
            const Pivot pivot = choose();
            if (pivot.row < 0) return std::nullopt;
            eliminate(pivot);
        }
        return std::move(program_);
    }

  private:
    std::size_t area() const { return static_cast<std::size_t>(n_) * static_cast<std::size_t>(n_); }
    std::size_t at(int row, int column) const {
        return static_cast<std::size_t>(row) * static_cast<std::size_t>(n_) +
               static_cast<std::size_t>(column);
    }

    /// How large an entry is against the largest of its column, at the frequency where it is worst.
    double standing(int row, int column, const std::array<double, 3>& largest) const {
        double worst = 1;
        for (std::size_t f = 0; f < dense_.size(); ++f) {
            const double entry = magnitude(dense_[f][at(row, column)]);
            worst = std::min(worst, largest[f] > 0 ? entry / largest[f] : 0);
        }
        return worst;
    }

    Pivot choose() const {
        std::vector<int> in_row(static_cast<std::size_t>(n_));
        std::vector<int> in_column(static_cast<std::size_t>(n_));
        for (const int row : rows_) {
            for (const int column : columns_) {
                if (slot_[at(row, column)] < 0) continue;
                ++in_row[static_cast<std::size_t>(row)];
                ++in_column[static_cast<std::size_t>(column)];
            }
        }
        Pivot best;
        double best_cost = std::numeric_limits<double>::infinity();
        for (const int column : columns_) {
            const auto largest = largest_in(column);
            for (const int row : rows_) {
                if (slot_[at(row, column)] < 0) continue;
                const double stands = standing(row, column, largest);
                if (stands == 0) continue;
                const double fill = (in_row[static_cast<std::size_t>(row)] - 1.0) *
                                    (in_column[static_cast<std::size_t>(column)] - 1.0);
                const bool safe = stands >= threshold;
                const double cost = safe ? fill - stands / 2 : 1e9 / stands;
                if (cost < best_cost) {
                    best = {row, column};
                    best_cost = cost;
                }
            }
        }
        return best;
    }

    std::array<double, 3> largest_in(int column) const {
        std::array<double, 3> largest{};
        for (std::size_t f = 0; f < dense_.size(); ++f) {
            for (const int row : rows_) {
                largest[f] = std::max(largest[f], magnitude(dense_[f][at(row, column)]));
            }
        }
        return largest;
    }

    void eliminate(const Pivot& pivot) {
        std::erase(rows_, pivot.row);
        std::erase(columns_, pivot.column);
        program_.pivot.push_back(slot_[at(pivot.row, pivot.column)]);
        program_.row_of.push_back(pivot.row);
        program_.column_of.push_back(pivot.column);
        for (const int row : rows_) {
            const int slot = slot_[at(row, pivot.column)];
            if (slot >= 0) program_.lower.push_back({slot, row});
        }
        for (const int column : columns_) {
            const int slot = slot_[at(pivot.row, column)];
            if (slot >= 0) program_.upper.push_back({slot, column});
        }
        const auto first_lower = static_cast<std::size_t>(program_.lower_start.back());
        const auto first_upper = static_cast<std::size_t>(program_.upper_start.back());
        for (std::size_t i = first_lower; i < program_.lower.size(); ++i) {
            for (std::size_t j = first_upper; j < program_.upper.size(); ++j) {
                update(program_.lower[i].index, program_.upper[j].index, pivot);
            }
        }
        program_.lower_start.push_back(static_cast<int>(program_.lower.size()));
        program_.upper_start.push_back(static_cast<int>(program_.upper.size()));
    }

    void update(int row, int column, const Pivot& pivot) {
        int& slot = slot_[at(row, column)];
        if (slot < 0) slot = program_.slots++;
        program_.targets.push_back(slot);
        for (auto& a : dense_) {
            a[at(row, column)] -= a[at(row, pivot.column)] / a[at(pivot.row, pivot.column)] *
                                  a[at(pivot.row, column)];
        }
    }

    int n_;
    std::vector<int> slot_;
    std::array<std::vector<Complex>, representative_hz.size()> dense_;
    std::vector<int> rows_;
    std::vector<int> columns_;
    Program program_;
};

}  // namespace

Plan make_plan(const Pencil& pencil) {
    std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
    evaluate(pencil, representative_hz[1], values);
    Plan plan{pencil.size, equilibrate(pencil, values), std::nullopt};
    if (pencil.size <= largest_planned) plan.program = Planner(pencil).plan();
    return plan;
}

}  // namespace lowhiss
