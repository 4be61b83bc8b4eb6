#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <cmath>
#include <optional>

#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {
namespace {

constexpr int largest_dense = 200;

using DenseMatrix = Eigen::MatrixXcd;
using SparseMatrix = Eigen::SparseMatrix<Complex>;
using Vector = Eigen::VectorXcd;

}  // namespace

struct ReferenceSolver::State {
    const Pencil* pencil;
    double frequency_hz = 0;
    std::vector<Complex> values;
    Scaling scaling;
    DenseMatrix scaled;
    Eigen::PartialPivLU<DenseMatrix> dense;
    std::optional<Eigen::FullPivLU<DenseMatrix>> complete;
    Eigen::SparseLU<SparseMatrix, Eigen::COLAMDOrdering<int>> sparse;
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
        dense.compute(scaled);
        const auto pivots = dense.matrixLU().diagonal().cwiseAbs();
        const double smallest = pivots.minCoeff();
        if (!(smallest > suspicious_pivot * pivots.maxCoeff())) use_complete_pivoting();
    }

    void use_complete_pivoting() {
        complete.emplace(scaled);
        if (complete->isInvertible() && scaled.allFinite()) return;
        throw Singular{free_unknown(), frequency_hz};
    }

    /// The unknown that moves most in the direction which the equations do not see.
    int free_unknown() const {
        if (!scaled.allFinite()) return -1;
        const DenseMatrix kernel = complete->kernel();
        Eigen::Index unknown = 0;
        kernel.col(0).cwiseAbs().maxCoeff(&unknown);
        return static_cast<int>(unknown);
    }

    void factorise_sparse() {
        std::vector<Eigen::Triplet<Complex>> triplets;
        for_each_scaled(
            [&](int row, int column, Complex value) { triplets.emplace_back(row, column, value); });
        SparseMatrix matrix(pencil->size, pencil->size);
        matrix.setFromTriplets(triplets.begin(), triplets.end());
        sparse.compute(matrix);
        if (sparse.info() != Eigen::Success) throw Singular{-1, frequency_hz};
    }

    Vector solve_scaled(Side side, const Vector& b) {
        if (is_sparse()) {
            if (side == Side::plain) return sparse.solve(b);
            return sparse.transpose().solve(b);
        }
        if (complete) {
            if (side == Side::plain) return complete->solve(b);
            return complete->transpose().solve(b);
        }
        if (side == Side::plain) return dense.solve(b);
        return dense.transpose().solve(b);
    }

    std::vector<Complex> solve_once(Side side, std::span<const Complex> b) {
        const auto& in = side == Side::plain ? scaling.row : scaling.column;
        const auto& out = side == Side::plain ? scaling.column : scaling.row;
        Vector scaled_b(pencil->size);
        for (std::size_t k = 0; k < b.size(); ++k) {
            scaled_b(static_cast<Eigen::Index>(k)) = b[k] * in[k];
        }
        const Vector scaled_x = solve_scaled(side, scaled_b);
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
