#include "lowhiss/solver/extended.hpp"

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <ranges>
#include <set>

#include "lowhiss/circuit/index.hpp"

namespace lowhiss {
namespace {

using Fifty = boost::multiprecision::cpp_bin_float_50;
using Hundred = boost::multiprecision::cpp_bin_float_100;

constexpr double least_pivot = 0.1;   ///< of the largest entry of its column
constexpr double rounding = 1e-44;    ///< of the largest entry that a column ever had
constexpr double contraction = 1e-3;  ///< of a correction by the next
constexpr double settled = 1e-75;     ///< the last correction
constexpr double exact_zero = 1e-60;  ///< of the largest unknown
constexpr double value_rounding = 4 * std::numeric_limits<double>::epsilon();
constexpr double most_movement = 0.1;  ///< of the unknowns by the rounding of the values

template <class Real>
struct Number {
    Real re = 0;
    Real im = 0;

    Number() = default;
    Number(Real real, Real imaginary) : re(std::move(real)), im(std::move(imaginary)) {}
    explicit Number(Complex z) : re(z.real()), im(z.imag()) {}
    template <class Other>
    explicit Number(const Number<Other>& z) : re(z.re), im(z.im) {}

    void add(const Number& z) {
        re += z.re;
        im += z.im;
    }
    void subtract_product(const Number& a, const Number& b) {
        re -= a.re * b.re - a.im * b.im;
        im -= a.re * b.im + a.im * b.re;
    }
    /// Scales by a power of two.
    void scale(double factor) {
        re *= factor;
        im *= factor;
    }
    Complex rounded() const { return {static_cast<double>(re), static_cast<double>(im)}; }
    double size() const { return magnitude(rounded()); }
};

using Narrow = Number<Fifty>;
using Wide = Number<Hundred>;

Narrow product(const Narrow& a, const Narrow& b) {
    return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

Narrow inverse(const Narrow& z) {
    const Fifty norm = z.re * z.re + z.im * z.im;
    return {z.re / norm, -z.im / norm};
}

struct Cell {
    int index;  ///< of the column in a row, of the row in a column
    Narrow value;
};

/// One pivot: the factors of the rows below and the entries to the right of it.
struct Step {
    int row;
    int column;
    Narrow inverse;
    std::vector<Cell> lower;
    std::vector<Cell> upper;
};

/// Gaussian elimination by rows.
class Elimination50 {
  public:
    explicit Elimination50(int size)
        : rows_(at(size)), rows_of_column_(at(size)), largest_(at(size)), size_(size) {}

    void put(int row, int column, Narrow value) {
        const double size = value.size();
        if (size == 0) return;
        largest_[at(column)] = std::max(largest_[at(column)], size);
        rows_[at(row)].push_back({column, std::move(value)});
        rows_of_column_[at(column)].push_back(row);
    }

    /// Whether every column had a pivot.
    bool run() {
        for (int column = 0; column < size_; ++column) open_.insert(place_of(column));
        while (steps_.size() < at(size_)) {
            const auto pivot = choose();
            if (!pivot) return false;
            eliminate(pivot->first, pivot->second);
        }
        return true;
    }

    const std::vector<Step>& steps() const { return steps_; }

    /// After an incomplete run: the unknown of largest magnitude in a vector of the null space, in
    /// which the column without a pivot is 1 and the others without one are 0.
    int free_unknown() const {
        std::vector<Narrow> x(at(size_));
        x[at(stuck_)] = Narrow(Complex(1));
        for (std::size_t k = steps_.size(); k-- > 0;) {
            Narrow sum;
            for (const Cell& u : steps_[k].upper) sum.subtract_product(u.value, x[at(u.index)]);
            x[at(steps_[k].column)] = product(sum, steps_[k].inverse);
        }
        std::size_t most = at(stuck_);
        for (std::size_t k = 0; k < x.size(); ++k) {
            if (x[k].size() > x[most].size()) most = k;
        }
        return static_cast<int>(most);
    }

  private:
    /// The number of rows that a column is in, and the column.
    using Place = std::pair<std::size_t, int>;

    Place place_of(int column) const { return {rows_of_column_[at(column)].size(), column}; }

    const Cell* find(int row, int column) const {
        for (const Cell& cell : rows_[at(row)]) {
            if (cell.index == column) return &cell;
        }
        return nullptr;
    }

    /// The entry that fills in least, among the columns with few entries.
    std::optional<std::pair<int, int>> choose() {
        std::pair<int, int> best;
        double least_fill = std::numeric_limits<double>::infinity();
        for (const auto& [count, column] : open_) {
            const double others = static_cast<double>(count) - 1;
            if (count > 0 && others * others >= least_fill) break;
            double largest = 0;
            for (const int row : rows_of_column_[at(column)]) {
                largest = std::max(largest, find(row, column)->value.size());
            }
            if (!(largest > rounding * largest_[at(column)])) {
                stuck_ = column;
                return std::nullopt;
            }
            for (const int row : rows_of_column_[at(column)]) {
                if (find(row, column)->value.size() < least_pivot * largest) continue;
                const double fill = (static_cast<double>(rows_[at(row)].size()) - 1) * others;
                if (fill >= least_fill) continue;
                least_fill = fill;
                best = {row, column};
            }
        }
        return best;
    }

    void eliminate(int row, int column) {
        Step step{row, column, inverse(find(row, column)->value), {}, {}};
        step.upper = std::move(rows_[at(row)]);
        std::erase_if(step.upper, [&](const Cell& cell) { return cell.index == column; });
        open_.erase(place_of(column));
        for (const Cell& u : step.upper) {
            open_.erase(place_of(u.index));
            std::erase(rows_of_column_[at(u.index)], row);
            open_.insert(place_of(u.index));
        }
        for (const int below : rows_of_column_[at(column)]) {
            if (below != row)
                step.lower.push_back({below, product(take(below, column), step.inverse)});
        }
        rows_of_column_[at(column)].clear();
        for (const Cell& l : step.lower) {
            for (const Cell& u : step.upper) subtract(l.index, u.index, l.value, u.value);
        }
        steps_.push_back(std::move(step));
    }

    Narrow take(int row, int column) {
        std::vector<Cell>& cells = rows_[at(row)];
        const auto cell = std::find_if(cells.begin(), cells.end(),
                                       [&](const Cell& c) { return c.index == column; });
        Narrow value = std::move(cell->value);
        *cell = std::move(cells.back());
        cells.pop_back();
        return value;
    }

    void subtract(int row, int column, const Narrow& l, const Narrow& u) {
        std::vector<Cell>& cells = rows_[at(row)];
        auto cell = std::find_if(cells.begin(), cells.end(),
                                 [&](const Cell& c) { return c.index == column; });
        if (cell == cells.end()) {
            cells.push_back({column, {}});
            open_.erase(place_of(column));
            rows_of_column_[at(column)].push_back(row);
            open_.insert(place_of(column));
            cell = cells.end() - 1;
        }
        cell->value.subtract_product(l, u);
        largest_[at(column)] =
            std::max({largest_[at(column)], cell->value.size(), l.size() * u.size()});
    }

    std::vector<std::vector<Cell>> rows_;  ///< that have had no pivot yet
    std::vector<std::vector<int>> rows_of_column_;
    std::vector<double> largest_;  ///< of each column, at any time
    std::set<Place> open_;         ///< columns that have had no pivot yet
    std::vector<Step> steps_;
    int size_;
    int stuck_ = 0;
};

}  // namespace

struct ExtendedSolver::State {
    explicit State(const Pencil& equations) : pencil(equations) {}

    const Pencil& pencil;
    double frequency_hz = 0;
    std::vector<Wide> values;  ///< of each slot
    Scaling scaling;
    std::optional<Elimination50> elimination;

    Wide value_of(const Triplet& t) const {
        if (t.measured) return Wide(-interpolate(*t.measured, frequency_hz).ohm);
        Wide value(Hundred(t.g), Hundred(2 * std::numbers::pi * frequency_hz));
        value.im *= t.c;
        return value;
    }

    /// Calls visit(stamp, row, column, slot) for every stamp.
    template <class Visit>
    void for_each_stamp(Visit visit) const {
        auto stamp = pencil.stamps.begin();
        for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            for (; stamp != pencil.stamps.end() && at(stamp->row) == row &&
                   at(stamp->column) == column;
                 ++stamp) {
                visit(*stamp, row, column, slot);
            }
        });
    }

    void factorise() {
        values.assign(at(pencil.slots()), Wide());
        for_each_stamp([&](const Triplet& stamp, std::size_t, std::size_t, std::size_t slot) {
            values[slot].add(value_of(stamp));
        });
        std::vector<Complex> rounded;
        for (const Wide& value : values) rounded.push_back(value.rounded());
        for (const Complex& value : rounded) {
            if (!std::isfinite(magnitude(value))) throw Singular{-1, frequency_hz};
        }
        scaling = equilibrate(pencil, rounded);
        elimination.emplace(pencil.size);
        for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            Narrow value(values[slot]);
            value.scale(scaling.row[row]);
            value.scale(scaling.column[column]);
            elimination->put(static_cast<int>(row), static_cast<int>(column), std::move(value));
        });
        if (!elimination->run()) throw Singular{elimination->free_unknown(), frequency_hz};
    }

    /// A^-1 r, or A^-T r, by the factors alone.
    std::vector<Narrow> substitute(Side side, const std::vector<Wide>& r) const {
        const auto& in = side == Side::plain ? scaling.row : scaling.column;
        const auto& out = side == Side::plain ? scaling.column : scaling.row;
        std::vector<Narrow> left;
        left.reserve(r.size());
        for (std::size_t k = 0; k < r.size(); ++k) {
            left.emplace_back(r[k]);
            left.back().scale(in[k]);
        }
        std::vector<Narrow> x(r.size());
        const std::vector<Step>& steps = elimination->steps();
        if (side == Side::plain) {
            for (const Step& step : steps) {
                for (const Cell& l : step.lower) {
                    left[at(l.index)].subtract_product(l.value, left[at(step.row)]);
                }
            }
            for (const Step& step : std::views::reverse(steps)) {
                Narrow& sum = left[at(step.row)];
                for (const Cell& u : step.upper) sum.subtract_product(u.value, x[at(u.index)]);
                x[at(step.column)] = product(sum, step.inverse);
            }
        } else {
            for (const Step& step : steps) {
                Narrow& value = x[at(step.row)];
                value = product(left[at(step.column)], step.inverse);
                for (const Cell& u : step.upper) left[at(u.index)].subtract_product(u.value, value);
            }
            for (const Step& step : std::views::reverse(steps)) {
                for (const Cell& l : step.lower) {
                    x[at(step.row)].subtract_product(l.value, x[at(l.index)]);
                }
            }
        }
        for (std::size_t k = 0; k < x.size(); ++k) x[k].scale(out[k]);
        return x;
    }

    void subtract_product(Side side, const std::vector<Narrow>& x, std::vector<Wide>& r) const {
        for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            const auto [to, from] =
                side == Side::plain ? std::pair(row, column) : std::pair(column, row);
            r[to].subtract_product(values[slot], Wide(x[from]));
        });
    }

    /// The largest unknown, in equilibrated units, and which it is.
    template <class Vector>
    std::pair<double, int> largest(Side side, const Vector& x) const {
        const auto& unit = side == Side::plain ? scaling.column : scaling.row;
        std::pair<double, int> most{0, -1};
        for (std::size_t k = 0; k < x.size(); ++k) {
            const double size = x[k].size() / unit[k];
            if (!(size <= most.first)) most = {size, static_cast<int>(k)};
        }
        return most;
    }

    std::vector<Wide> solve(Side side, std::vector<Wide> r) const {
        constexpr int most_steps = 40;
        std::vector<Wide> x(r.size());
        double previous = std::numeric_limits<double>::infinity();
        for (int step = 0; step < most_steps; ++step) {
            const std::vector<Narrow> correction = substitute(side, r);
            const auto [move, unknown] = largest(side, correction);
            if (!(move <= contraction * previous)) {
                throw Singular{side == Side::plain ? unknown : -1, frequency_hz};
            }
            previous = move;
            for (std::size_t k = 0; k < x.size(); ++k) x[k].add(Wide(correction[k]));
            if (move <= settled * largest(side, x).first) break;
            subtract_product(side, correction, r);
        }
        const double least = exact_zero * largest(side, x).first;
        const auto& unit = side == Side::plain ? scaling.column : scaling.row;
        for (std::size_t k = 0; k < x.size(); ++k) {
            if (x[k].size() / unit[k] <= least) x[k] = Wide();
        }
        return x;
    }

    std::vector<Wide> solve(Side side, std::span<const Complex> b) const {
        std::vector<Wide> r;
        r.reserve(b.size());
        for (const Complex& each : b) r.emplace_back(each);
        return solve(side, std::move(r));
    }

    /// A stamp that is neither 1 nor -1 is the value of a part, and rounded.
    static bool is_rounded(const Triplet& t) {
        return t.tie != 0 || t.c != 0 || std::abs(t.g) != 1 || t.measured != nullptr;
    }

    /// The sum of |y^T (dA) x| over the values, each changed by value_rounding.
    double bound(const std::vector<Complex>& x, const std::vector<Complex>& y) const {
        std::vector<Complex> tied;
        double sum = 0;
        for_each_stamp([&](const Triplet& t, std::size_t row, std::size_t column, std::size_t) {
            if (!is_rounded(t)) return;
            const Complex term = y[row] * value_of(t).rounded() * x[column];
            if (t.tie == 0) {
                sum += std::abs(term);
                return;
            }
            if (at(t.tie) >= tied.size()) tied.resize(at(t.tie) + 1);
            tied[at(t.tie)] += term;
        });
        for (const Complex& each : tied) sum += std::abs(each);
        return value_rounding * sum;
    }

    /// Throws where changes of the values by their rounding move the solution far: only that
    /// rounding makes A regular. The signs of the changes follow from a fixed sequence.
    void require_determined(const std::vector<Wide>& x) const {
        constexpr int trials = 2;
        std::uint32_t bits = 1;
        const double whole = largest(Side::plain, x).first;
        for (int trial = 0; trial < trials; ++trial) {
            std::vector<double> sign_of_tie;
            const auto draw = [&] {
                bits = bits * 1664525U + 1013904223U;  // Knuth's linear congruential sequence
                return (bits >> 31U) != 0 ? value_rounding : -value_rounding;
            };
            std::vector<Wide> moved(x.size());
            for_each_stamp([&](const Triplet& t, std::size_t row, std::size_t column, std::size_t) {
                if (!is_rounded(t)) return;
                if (at(t.tie) >= sign_of_tie.size()) sign_of_tie.resize(at(t.tie) + 1);
                double& sign = sign_of_tie[at(t.tie)];
                if (t.tie == 0 || sign == 0) sign = draw();
                Wide change = value_of(t);
                change.re *= sign;
                change.im *= sign;
                moved[row].subtract_product(change, x[column]);
            });
            const auto [movement, unknown] = largest(Side::plain, solve(Side::plain, moved));
            if (movement > most_movement * whole) throw Singular{unknown, frequency_hz};
        }
    }
};

namespace {

std::vector<Complex> rounded(const std::vector<Wide>& x) {
    std::vector<Complex> result;
    result.reserve(x.size());
    for (const Wide& each : x) result.push_back(each.rounded());
    return result;
}

}  // namespace

ExtendedSolver::ExtendedSolver(const Pencil& pencil) : state_(std::make_unique<State>(pencil)) {}
ExtendedSolver::~ExtendedSolver() = default;
ExtendedSolver::ExtendedSolver(ExtendedSolver&&) noexcept = default;
ExtendedSolver& ExtendedSolver::operator=(ExtendedSolver&&) noexcept = default;

void ExtendedSolver::factorise(double frequency_hz) {
    state_->frequency_hz = frequency_hz;
    state_->factorise();
}

std::vector<Complex> ExtendedSolver::solve(std::span<const Complex> b) {
    return rounded(state_->solve(Side::plain, b));
}

std::vector<Complex> ExtendedSolver::solve_transposed(std::span<const Complex> c) {
    return rounded(state_->solve(Side::transposed, c));
}

ExtendedSolver::Transfer ExtendedSolver::transfer(std::span<const Complex> b,
                                                  std::span<const Complex> c) {
    const std::vector<Wide> x = state_->solve(Side::plain, b);
    Transfer result{{rounded(x), solve_transposed(c)}, 0, 0};
    Wide gain;
    double terms = 0;
    for (std::size_t k = 0; k < x.size(); ++k) {
        if (c[k] == 0.0) continue;
        gain.subtract_product(Wide(-c[k]), x[k]);
        terms += magnitude(c[k]) * x[k].size();
    }
    if (gain.size() > exact_zero * terms) result.gain = gain.rounded();
    result.bound = state_->bound(result.solution.x, result.solution.y);
    if (result.bound >= std::abs(result.gain)) state_->require_determined(x);
    return result;
}

}  // namespace lowhiss
