#include "lowhiss/solver/planner.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <span>
#include <utility>

#include "lowhiss/circuit/index.hpp"
#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {
namespace {

constexpr double threshold = 0.05;

/// The largest ratio of an update to the entry that it is added to. The digits of the entry that
/// are lost by it have to be recovered by refinement. It is not checked for pivots of a larger
/// product, for which that would cost too much.
constexpr double most_swamping = 1e4;
constexpr double dearest_looked_into = 100;

constexpr std::size_t most_targets = std::size_t{1} << 26U;  // a quarter of a gigabyte

struct Pivot {
    int row = -1;
    int column = -1;
    int slot = -1;
};

/// Rows or columns in the order of their numbers of entries. A line without a usable pivot is
/// removed until one of its entries changes.
class Queue {
  public:
    explicit Queue(std::vector<std::vector<Cell>>& lines)
        : lines_(lines), place_(lines.size(), absent) {}

    using Lines = std::set<std::pair<std::size_t, int>>;
    const Lines& waiting() const { return waiting_; }

    void put(int line) {
        remove(line);
        place_[at(line)] = lines_[at(line)].size();
        waiting_.emplace(place_[at(line)], line);
    }
    void remove(int line) {
        if (place_[at(line)] == absent) return;
        waiting_.erase({place_[at(line)], line});
        place_[at(line)] = absent;
    }

  private:
    static constexpr std::size_t absent = std::numeric_limits<std::size_t>::max();
    std::vector<std::vector<Cell>>& lines_;
    std::vector<std::size_t> place_;  ///< the number of entries under which each waits
    Lines waiting_;
};

class Planner {
  public:
    explicit Planner(Samples samples)
        : m_(std::move(samples)),
          rows_(m_.rows),
          columns_(m_.columns),
          varying_in_row_(at(m_.size)),
          varying_in_column_(at(m_.size)),
          largest_(at(m_.size) * m_.count),
          largest_is_known_(at(m_.size)),
          slot_of_column_(at(m_.size), -1) {
        result_.slots = static_cast<int>(m_.varies.size());
        for (int row = 0; row < m_.size; ++row) {
            for (const auto& [column, slot] : m_.rows[at(row)]) {
                if (m_.varies[at(slot)]) count_varying(row, column);
            }
        }
    }

    std::optional<Recording> run(double dearest) {
        wake_all();
        while (const auto pivot = find(dearest, true)) take(*pivot);
        result_.once_steps = result_.steps.size();
        result_.once_slots = result_.slots;
        wake_all();
        while (result_.steps.size() < at(m_.size)) {
            auto pivot = find(std::numeric_limits<double>::infinity(), false);
            if (!pivot) pivot = least_unsafe();
            if (!pivot || result_.targets.size() > most_targets) return std::nullopt;
            take(*pivot);
        }
        return std::move(result_);
    }

  private:
    void count_varying(int row, int column) {
        ++varying_in_row_[at(row)];
        ++varying_in_column_[at(column)];
    }

    void wake_all() {
        for (int k = 0; k < m_.size; ++k) {
            if (!m_.rows[at(k)].empty()) rows_.put(k);
            if (!m_.columns[at(k)].empty()) columns_.put(k);
        }
    }

    double size_of(int slot, std::size_t sample) const {
        return magnitude(m_.values[at(slot) * m_.count + sample]);
    }

    const double* largest_in(int column) {
        double* const largest = largest_.data() + at(column) * m_.count;
        if (largest_is_known_[at(column)]) return largest;
        std::fill_n(largest, m_.count, 0.0);
        for (const auto& [row, slot] : m_.columns[at(column)]) {
            for (std::size_t s = 0; s < m_.count; ++s) {
                largest[s] = std::max(largest[s], size_of(slot, s));
            }
        }
        largest_is_known_[at(column)] = true;
        return largest;
    }

    /// The ratio of an entry to the largest of its column, the least over all samples.
    double standing(int column, int slot) {
        const double* const largest = largest_in(column);
        double worst = 1;
        for (std::size_t s = 0; s < m_.count; ++s) {
            worst = std::min(worst, largest[s] > 0 ? size_of(slot, s) / largest[s] : 0);
        }
        return worst;
    }

    bool may_be_once(const Pivot& p) const {
        return !m_.varies[at(p.slot)] && !m_.barred_row[at(p.row)] &&
               !m_.barred_column[at(p.column)] &&
               (varying_in_row_[at(p.row)] == 0 || varying_in_column_[at(p.column)] == 0);
    }

    /// The largest ratio of an update by this pivot to the entry that it is added to.
    double swamping(const Pivot& p) {
        double worst = 0;
        for (const auto& [row, lower] : m_.columns[at(p.column)]) {
            if (row == p.row) continue;
            for (const auto& [column, slot] : m_.rows[at(row)]) slot_of_column_[at(column)] = slot;
            for (const auto& [column, upper] : m_.rows[at(p.row)]) {
                const int target = slot_of_column_[at(column)];
                if (column == p.column || target < 0) continue;
                for (std::size_t s = 0; s < m_.count; ++s) {
                    const double update = size_of(lower, s) * size_of(upper, s);
                    const double there = size_of(target, s) * size_of(p.slot, s);
                    if (there > 0) worst = std::max(worst, update / there);
                }
            }
            for (const auto& [column, slot] : m_.rows[at(row)]) slot_of_column_[at(column)] = -1;
        }
        return worst;
    }

    double cost(const Pivot& p) const {
        return (static_cast<double>(m_.rows[at(p.row)].size()) - 1) *
               (static_cast<double>(m_.columns[at(p.column)].size()) - 1);
    }

    struct Best {
        Pivot pivot;
        double cost = std::numeric_limits<double>::infinity();
        double standing = 0;
    };

    /// Keeps the best usable entry of a line in `best`; returns whether the line has any.
    bool look_at(bool is_row, int line, bool once, Best& best) {
        bool any = false;
        for (const auto& [other, slot] : (is_row ? m_.rows : m_.columns)[at(line)]) {
            const Pivot p{is_row ? line : other, is_row ? other : line, slot};
            if (once && !may_be_once(p)) continue;
            const double stands = standing(p.column, slot);
            if (stands < threshold) continue;
            const double price = cost(p);
            if (price <= dearest_looked_into && swamping(p) > most_swamping) continue;
            any = true;
            if (price > best.cost || (price == best.cost && stands <= best.standing)) continue;
            best = {p, price, stands};
        }
        return any;
    }

    /// Searches lines of few entries first: in lines not yet seen an entry costs at least
    /// (entries - 1)^2.
    std::optional<Pivot> find(double dearest, bool once) {
        const std::size_t most_lines = m_.size > 200 ? 8 : 40;
        Best best;
        std::vector<std::pair<bool, int>> unfit;
        auto row = rows_.waiting().begin();
        auto column = columns_.waiting().begin();
        const auto last_row = rows_.waiting().end();
        const auto last_column = columns_.waiting().end();
        for (std::size_t seen = 0;
             seen < most_lines && (row != last_row || column != last_column);) {
            const bool is_row =
                column == last_column || (row != last_row && row->first < column->first);
            const auto [count, line] = is_row ? *row++ : *column++;
            const double least = static_cast<double>(count - 1) * static_cast<double>(count - 1);
            if (least > dearest || least > best.cost) break;
            if (look_at(is_row, line, once, best))
                ++seen;
            else
                unfit.emplace_back(is_row, line);
        }
        for (const auto& [is_row, line] : unfit) (is_row ? rows_ : columns_).remove(line);
        if (best.cost > dearest || best.pivot.row < 0) return std::nullopt;
        return best.pivot;
    }

    /// The entry with the best ratio to its column, for when none is large enough in every sample.
    std::optional<Pivot> least_unsafe() {
        Pivot pivot;
        double best = 0;
        for (int column = 0; column < m_.size; ++column) {
            for (const auto& [row, slot] : m_.columns[at(column)]) {
                const double stands = standing(column, slot);
                if (stands <= best) continue;
                best = stands;
                pivot = {row, column, slot};
            }
        }
        if (pivot.row < 0) return std::nullopt;
        return pivot;
    }

    static void erase(std::vector<Cell>& line, int index) {
        const auto cell =
            std::find_if(line.begin(), line.end(), [&](const Cell& c) { return c.index == index; });
        *cell = line.back();
        line.pop_back();
    }

    static std::vector<Cell> in_order(std::vector<Cell> cells) {
        std::sort(cells.begin(), cells.end(),
                  [](const Cell& a, const Cell& b) { return a.index < b.index; });
        return cells;
    }

    /// Removes the row and column of the pivot from the matrix.
    void detach(const Pivot& p) {
        rows_.remove(p.row);
        columns_.remove(p.column);
        for (const auto& [column, slot] : m_.rows[at(p.row)]) {
            erase(m_.columns[at(column)], p.row);
            largest_is_known_[at(column)] = false;
            if (m_.varies[at(slot)]) --varying_in_column_[at(column)];
        }
        for (const auto& [row, slot] : m_.columns[at(p.column)]) {
            erase(m_.rows[at(row)], p.column);
            if (m_.varies[at(slot)]) --varying_in_row_[at(row)];
        }
    }

    void take(const Pivot& p) {
        erase(m_.rows[at(p.row)], p.column);
        erase(m_.columns[at(p.column)], p.row);
        detach(p);
        const Recording::Step& step = result_.steps.emplace_back(Recording::Step{
            p.row, p.column, p.slot, in_order(std::exchange(m_.columns[at(p.column)], {})),
            in_order(std::exchange(m_.rows[at(p.row)], {}))});
        for (const Cell& lower : step.lower) update_row(p, lower, step.upper);
        for (const Cell& upper : step.upper) columns_.put(upper.index);
        for (const Cell& lower : step.lower) rows_.put(lower.index);
    }

    void update_row(const Pivot& p, const Cell& lower, std::span<const Cell> upper) {
        const int row = lower.index;
        for (std::size_t s = 0; s < m_.count; ++s) {
            m_.values[at(lower.slot) * m_.count + s] /= m_.values[at(p.slot) * m_.count + s];
        }
        for (const auto& [column, slot] : m_.rows[at(row)]) slot_of_column_[at(column)] = slot;
        for (const Cell& u : upper) {
            int& target = slot_of_column_[at(u.index)];
            if (target < 0) target = fill(row, u.index);
            if (!m_.varies[at(target)] && (m_.varies[at(lower.slot)] || m_.varies[at(u.slot)])) {
                m_.varies[at(target)] = true;
                count_varying(row, u.index);
            }
            for (std::size_t s = 0; s < m_.count; ++s) {
                m_.values[at(target) * m_.count + s] -=
                    m_.values[at(lower.slot) * m_.count + s] * m_.values[at(u.slot) * m_.count + s];
            }
            result_.targets.push_back(target);
            largest_is_known_[at(u.index)] = false;
        }
        for (const auto& [column, slot] : m_.rows[at(row)]) slot_of_column_[at(column)] = -1;
    }

    int fill(int row, int column) {
        const int slot = result_.slots++;
        m_.rows[at(row)].push_back({column, slot});
        m_.columns[at(column)].push_back({row, slot});
        m_.varies.push_back(false);
        m_.values.resize(m_.values.size() + m_.count);
        return slot;
    }

    Samples m_;
    Queue rows_;
    Queue columns_;
    std::vector<int> varying_in_row_;
    std::vector<int> varying_in_column_;
    std::vector<double> largest_;
    std::vector<bool> largest_is_known_;
    std::vector<int> slot_of_column_;  ///< of the current row, -1 where it has no entry
    Recording result_;
};

}  // namespace

std::optional<Recording> eliminate(Samples samples, double dearest_once) {
    return Planner(std::move(samples)).run(dearest_once);
}

}  // namespace lowhiss
