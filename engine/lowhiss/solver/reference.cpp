#include <algorithm>
#include <cmath>
#include <optional>

#include "lowhiss/solver/dense.hpp"
#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {
namespace {

constexpr int largest_dense = 200;

using Eigen::VectorXcd;

}  // namespace

struct ReferenceSolver::State {
    const Pencil* pencil;
    double frequency_hz = 0;
    std::vector<Complex> values;
    Scaling scaling;
    Eigen::MatrixXcd scaled;
    dense::PartialLu partial;
    dense::RealPartialLu real_partial;  ///< in place of `partial` where all entries are real
    bool is_real = false;               ///< as at direct current
    std::optional<dense::CompleteLu> complete;
    dense::SparseLu sparse;
    SolverAccount account;

    bool is_sparse() const { return pencil->size > largest_dense; }

    /// Calls visit(row, column, value) for every entry of the equilibrated matrix.
    template <class Visit>
    void for_each_scaled(Visit visit) const {
        for_each_slot(*pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
            visit(static_cast<int>(row), static_cast<int>(column),
                  values[slot] * scaling.row[row] * scaling.column[column]);
        });
    }

    void factorise_dense() {
        scaled.setZero(pencil->size, pencil->size);
        for_each_scaled([&](int row, int column, Complex value) { scaled(row, column) = value; });
        complete.reset();
        if (is_real)
            real_partial.factorise(scaled.real());
        else
            partial.factorise(scaled);
        const double ratio = is_real ? real_partial.pivot_ratio() : partial.pivot_ratio();
        if (!(ratio > suspicious_pivot)) use_complete_pivoting();
    }

    void use_complete_pivoting() {
        complete.emplace(scaled);
        if (complete->is_invertible() && scaled.allFinite()) return;
        throw Singular{free_unknown(), frequency_hz};
    }

    /// The unknown with the largest entry in a vector of the null space.
    int free_unknown() const {
        if (!scaled.allFinite()) return -1;
        return complete->free_unknown();
    }

    void factorise_sparse() {
        std::vector<dense::Entry> entries;
        for_each_scaled([&](int row, int column, Complex value) {
            entries.push_back({row, column, value});
        });
        if (!sparse.factorise(pencil->size, entries)) throw Singular{-1, frequency_hz};
    }

    VectorXcd solve_scaled(Side side, const VectorXcd& b) {
        const auto by = [&](auto& lu) {
            return side == Side::plain ? lu.solve(b) : lu.solve_transposed(b);
        };
        if (is_sparse()) return by(sparse);
        if (complete) return by(*complete);
        return is_real ? solve_real(side, b) : by(partial);
    }

    VectorXcd solve_real(Side side, const VectorXcd& b) const {
        const auto by = [&](const Eigen::VectorXd& part) -> Eigen::VectorXd {
            return side == Side::plain ? real_partial.solve(part)
                                       : real_partial.solve_transposed(part);
        };
        VectorXcd x(b.size());
        x.real() = by(b.real());
        x.imag() = by(b.imag());
        return x;
    }

    std::vector<Complex> solve_once(Side side, std::span<const Complex> b) {
        const auto& in = side == Side::plain ? scaling.row : scaling.column;
        const auto& out = side == Side::plain ? scaling.column : scaling.row;
        VectorXcd scaled_b(pencil->size);
        for (std::size_t k = 0; k < b.size(); ++k) {
            scaled_b(static_cast<Eigen::Index>(k)) = b[k] * in[k];
        }
        const VectorXcd scaled_x = solve_scaled(side, scaled_b);
        std::vector<Complex> x(b.size());
        for (std::size_t k = 0; k < x.size(); ++k) {
            x[k] = scaled_x(static_cast<Eigen::Index>(k)) * out[k];
        }
        return x;
    }

    std::vector<Complex> solve(Side side, std::span<const Complex> b) {
        auto refined = solve_refined(*pencil, values, scaling, side, b,
                                     [&](const auto& rhs) { return solve_once(side, rhs); });
        if (!refined) throw Singular{-1, frequency_hz};
        ++account.solutions;
        account.worst_backward_error =
            std::max(account.worst_backward_error, refined->backward_error);
        return std::move(refined->x);
    }
};

ReferenceSolver::ReferenceSolver(const Pencil& pencil) : state_(std::make_unique<State>()) {
    state_->pencil = &pencil;
    state_->values.resize(static_cast<std::size_t>(pencil.slots()));
}

ReferenceSolver::~ReferenceSolver() = default;
ReferenceSolver::ReferenceSolver(ReferenceSolver&&) noexcept = default;
ReferenceSolver& ReferenceSolver::operator=(ReferenceSolver&&) noexcept = default;

void ReferenceSolver::factorise(double frequency_hz) {
    ++state_->account.factorisations;
    state_->frequency_hz = frequency_hz;
    evaluate(*state_->pencil, frequency_hz, state_->values);
    state_->is_real = std::all_of(state_->values.begin(), state_->values.end(),
                                  [](const Complex& value) { return value.imag() == 0; });
    state_->scaling = equilibrate(*state_->pencil, state_->values);
    if (state_->is_sparse())
        state_->factorise_sparse();
    else
        state_->factorise_dense();
}

std::vector<Complex> ReferenceSolver::solve(std::span<const Complex> b) {
    return state_->solve(Side::plain, b);
}

std::vector<Complex> ReferenceSolver::solve_transposed(std::span<const Complex> c) {
    return state_->solve(Side::transposed, c);
}

const SolverAccount& ReferenceSolver::account() const {
    return state_->account;
}

}  // namespace lowhiss
