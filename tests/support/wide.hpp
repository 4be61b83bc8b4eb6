#pragma once

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <boost/multiprecision/cpp_complex.hpp>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>
#include <vector>

namespace lowhiss::test {

/// Fifty decimal digits, against which results in doubles are tested.
using WideReal = boost::multiprecision::cpp_bin_float_50;
using Wide = boost::multiprecision::cpp_complex_50;
using WideMatrix = std::vector<std::vector<Wide>>;

/// |re| + |im|, in a double.
template <class Number>
double size_of(const Number& z) {
    return std::abs(static_cast<double>(z.real())) + std::abs(static_cast<double>(z.imag()));
}

/// Gaussian elimination that spares zeros: of the entries not smaller than a millionth of the
/// largest in their column, the pivot with the fewest others in its row and column (Markowitz).
/// That costs at most six digits a step, in practice none, which fifty digits can afford; a caller
/// with fewer must check the result.
template <class Number>
class SparseElimination {
  public:
    using Matrix = std::vector<std::vector<Number>>;

    SparseElimination(Matrix a, std::vector<Number> b, double least_pivot = 1e-6)
        : least_pivot_(least_pivot),
          a_(std::move(a)),
          b_(std::move(b)),
          n_(b_.size()),
          size_(n_, std::vector<double>(n_)) {
        for (std::size_t i = 0; i < n_; ++i) {
            rows_.push_back(i);
            columns_.push_back(i);
            for (std::size_t j = 0; j < n_; ++j) size_[i][j] = size_of(a_[i][j]);
        }
    }

    std::vector<Number> solve() {
        std::vector<std::pair<std::size_t, std::size_t>> order;
        while (!rows_.empty()) {
            order.push_back(choose());
            eliminate(order.back().first, order.back().second);
        }
        std::vector<Number> x(n_);
        for (std::size_t k = n_; k-- > 0;) {
            const auto [row, column] = order[k];
            Number sum = b_[row];
            for (std::size_t later = k + 1; later < n_; ++later) {
                const std::size_t j = order[later].second;
                if (size_[row][j] > 0) sum -= a_[row][j] * x[j];
            }
            x[column] = sum / a_[row][column];
        }
        return x;
    }

  private:
    std::pair<std::size_t, std::size_t> choose() const {
        std::vector<std::size_t> in_row(n_);
        for (const std::size_t i : rows_) {
            for (const std::size_t j : columns_) in_row[i] += size_[i][j] > 0;
        }
        std::pair<std::size_t, std::size_t> best{n_, n_};
        std::size_t best_cost = std::numeric_limits<std::size_t>::max();
        for (const std::size_t j : columns_) {
            double largest = 0;
            std::size_t in_column = 0;
            for (const std::size_t i : rows_) {
                largest = std::max(largest, size_[i][j]);
                in_column += size_[i][j] > 0;
            }
            for (const std::size_t i : rows_) {
                if (!(size_[i][j] > least_pivot_ * largest)) continue;
                const std::size_t cost = (in_row[i] - 1) * (in_column - 1);
                if (cost < best_cost) std::tie(best, best_cost) = std::pair(std::pair(i, j), cost);
            }
        }
        if (best.first == n_) throw std::domain_error("singular");
        return best;
    }

    void eliminate(std::size_t row, std::size_t column) {
        std::erase(rows_, row);
        std::erase(columns_, column);
        const Number inverse = Number(1) / a_[row][column];
        for (const std::size_t i : rows_) {
            if (size_[i][column] == 0) continue;
            const Number factor = a_[i][column] * inverse;
            for (const std::size_t j : columns_) {
                if (size_[row][j] == 0) continue;
                a_[i][j] -= factor * a_[row][j];
                size_[i][j] = size_of(a_[i][j]);
            }
            b_[i] -= factor * b_[row];
        }
    }

    double least_pivot_;
    Matrix a_;
    std::vector<Number> b_;
    std::size_t n_;
    std::vector<std::vector<double>> size_;
    std::vector<std::size_t> rows_;
    std::vector<std::size_t> columns_;
};

/// A^-1 b; throws std::domain_error where A is singular.
inline std::vector<Wide> solve_wide(WideMatrix a, std::vector<Wide> b) {
    return SparseElimination<Wide>(std::move(a), std::move(b)).solve();
}

inline WideMatrix transposed(const WideMatrix& a) {
    WideMatrix t = a;
    for (std::size_t i = 0; i < a.size(); ++i) {
        for (std::size_t j = 0; j < a.size(); ++j) t[j][i] = a[i][j];
    }
    return t;
}

}  // namespace lowhiss::test
