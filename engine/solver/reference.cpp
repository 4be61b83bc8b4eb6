#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <cmath>
#include <limits>
#include <optional>

#include "matrix.hpp"

namespace lowhiss {
namespace {

constexpr int largest_dense = 200;

/// A backward error that rounding leaves at best; refinement stops there.
constexpr double rounding = 4 * std::numeric_limits<double>::epsilon();

/// Below this ratio of pivots the matrix is looked at with complete pivoting.
constexpr double suspicious_pivot = 1e-12;

using DenseMatrix = Eigen::MatrixXcd;
using SparseMatrix = Eigen::SparseMatrix<Complex>;
using Vector = Eigen::VectorXcd;

}  // namespace

struct ReferenceSolver::State {
    const Pencil* pencil;
    Plan plan;
    std::vector<Complex> values;
    Scaling scaling;
    DenseMatrix scaled;
    Eigen::PartialPivLU<DenseMatrix> dense;
    std::optional<Eigen::FullPivLU<DenseMatrix>> complete;
    Eigen::SparseLU<SparseMatrix, Eigen::COLAMDOrdering<int>> sparse;
    double worst_error = 0;

    /// Entry (row, column) of the equilibrated matrix for every slot.
    template <class Visit>
    void for_each_scaled(Visit visit) const {
        for (int column = 0; column < plan.size; ++column) {
            const auto at = static_cast<std::size_t>(column);
            for (int slot = pencil->column_start[at]; slot < pencil->column_start[at + 1];
                 ++slot) {
                const auto k = static_cast<std::size_t>(slot);
                const int row = pencil->row[k];
                visit(row, column,
                      values[k] * scaling.row[static_cast<std::size_t>(row)] * scaling.column[at]);
            }
        }
    }

    void factorise_dense() {
        scaled.setZero(plan.size, plan.size);
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
        throw Singular{free_unknown()};
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
        for_each_scaled([&](int row, int column, Complex value) {
            triplets.emplace_back(row, column, value);
        });
        SparseMatrix matrix(plan.size, plan.size);
        matrix.setFromTriplets(triplets.begin(), triplets.end());
        sparse.compute(matrix);
        if (sparse.info() != Eigen::Success) throw Singular{};
    }

    Vector solve_scaled(Side side, const Vector& b) {
        if (plan.storage == Plan::Storage::sparse) {
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
        Vector scaled_b(plan.size);
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

    /// Refines as long as it helps: rounding alone then limits the result.
    std::vector<Complex> solve(Side side, std::span<const Complex> b) {
        std::vector<Complex> x = solve_once(side, b);
        double previous = std::numeric_limits<double>::infinity();
        for (;;) {
            const Residual left = residual(*pencil, values, scaling, side, b, x);
            const double error = backward_error(left);
            if (error <= rounding || !(error < previous / 2)) {
                if (!(error <= largest_backward_error)) throw Singular{};
                worst_error = std::max(worst_error, error);
                return x;
            }
            previous = error;
            const std::vector<Complex> correction = solve_once(side, left.r);
            for (std::size_t k = 0; k < x.size(); ++k) x[k] += correction[k];
        }
    }
};

Plan make_plan(const Pencil& pencil) {
    return {pencil.size,
            pencil.size <= largest_dense ? Plan::Storage::dense : Plan::Storage::sparse};
}

ReferenceSolver::ReferenceSolver(const Plan& plan, const Pencil& pencil)
    : state_(std::make_unique<State>()) {
    state_->pencil = &pencil;
    state_->plan = plan;
    state_->values.resize(static_cast<std::size_t>(pencil.slots()));
}

ReferenceSolver::~ReferenceSolver() = default;
ReferenceSolver::ReferenceSolver(ReferenceSolver&&) noexcept = default;
ReferenceSolver& ReferenceSolver::operator=(ReferenceSolver&&) noexcept = default;

void ReferenceSolver::factorise(double frequency_hz) {
    evaluate(*state_->pencil, frequency_hz, state_->values);
    state_->scaling = equilibrate(*state_->pencil, state_->values);
    if (state_->plan.storage == Plan::Storage::dense) state_->factorise_dense();
    else state_->factorise_sparse();
}

std::vector<Complex> ReferenceSolver::solve(std::span<const Complex> b) {
    return state_->solve(Side::plain, b);
}

std::vector<Complex> ReferenceSolver::solve_transposed(std::span<const Complex> c) {
    return state_->solve(Side::transposed, c);
}

std::span<const Complex> ReferenceSolver::values() const { return state_->values; }

double ReferenceSolver::worst_backward_error() const { return state_->worst_error; }

}  // namespace lowhiss
