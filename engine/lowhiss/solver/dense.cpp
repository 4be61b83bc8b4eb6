#include "lowhiss/solver/dense.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <Eigen/SparseCore>
#include <Eigen/SparseLU>

namespace lowhiss::dense {

using Eigen::MatrixXcd;
using Eigen::MatrixXd;
using Eigen::VectorXcd;
using Eigen::VectorXd;

namespace {

template <class Lu>
double ratio_of_pivots(const Lu& lu) {
    const VectorXd pivots = lu.matrixLU().diagonal().cwiseAbs();
    return pivots.minCoeff() / pivots.maxCoeff();
}

}  // namespace

MatrixXd solve(const MatrixXd& a, const MatrixXd& b) {
    return Eigen::PartialPivLU<MatrixXd>(a).solve(b);
}

VectorXcd eigenvalues(const MatrixXd& a) {
    return Eigen::EigenSolver<MatrixXd>(a, false).eigenvalues();
}

Eigensystem eigensystem(const MatrixXd& a) {
    const Eigen::EigenSolver<MatrixXd> solver(a, true);
    return {solver.eigenvalues(), solver.eigenvectors()};
}

struct PartialLu::State {
    Eigen::PartialPivLU<MatrixXcd> lu;
};

PartialLu::PartialLu() : state_(std::make_unique<State>()) {}
PartialLu::~PartialLu() = default;

void PartialLu::factorise(const MatrixXcd& a) {
    state_->lu.compute(a);
}

double PartialLu::pivot_ratio() const {
    return ratio_of_pivots(state_->lu);
}

VectorXcd PartialLu::solve(const VectorXcd& b) const {
    return state_->lu.solve(b);
}

VectorXcd PartialLu::solve_transposed(const VectorXcd& b) const {
    return state_->lu.transpose().solve(b);
}

// Column by column: a solve of a whole matrix would be one more template to compile.
MatrixXcd PartialLu::inverse() const {
    const Eigen::Index size = state_->lu.rows();
    MatrixXcd inverse(size, size);
    for (Eigen::Index k = 0; k < size; ++k) inverse.col(k) = solve(VectorXcd::Unit(size, k));
    return inverse;
}

std::complex<double> PartialLu::determinant_direction() const {
    auto direction =
        std::complex<double>(static_cast<double>(state_->lu.permutationP().determinant()));
    for (const std::complex<double>& pivot : state_->lu.matrixLU().diagonal()) {
        direction *= pivot / std::abs(pivot);
    }
    return direction;
}

MatrixXd PartialLu::magnitude_product() const {
    const MatrixXd lu = state_->lu.matrixLU().cwiseAbs();
    const MatrixXd lower = lu.triangularView<Eigen::UnitLower>();
    const MatrixXd upper = lu.triangularView<Eigen::Upper>();
    return state_->lu.permutationP().transpose() * (lower * upper);
}

struct RealPartialLu::State {
    Eigen::PartialPivLU<MatrixXd> lu;
};

RealPartialLu::RealPartialLu() : state_(std::make_unique<State>()) {}
RealPartialLu::~RealPartialLu() = default;

void RealPartialLu::factorise(const MatrixXd& a) {
    state_->lu.compute(a);
}

double RealPartialLu::pivot_ratio() const {
    return ratio_of_pivots(state_->lu);
}

VectorXd RealPartialLu::solve(const VectorXd& b) const {
    return state_->lu.solve(b);
}

VectorXd RealPartialLu::solve_transposed(const VectorXd& b) const {
    return state_->lu.transpose().solve(b);
}

struct CompleteLu::State {
    Eigen::FullPivLU<MatrixXcd> lu;
};

CompleteLu::CompleteLu(const MatrixXcd& a)
    : state_(std::make_unique<State>(State{Eigen::FullPivLU<MatrixXcd>(a)})) {}
CompleteLu::~CompleteLu() = default;

bool CompleteLu::is_invertible() const {
    return state_->lu.isInvertible();
}

int CompleteLu::free_unknown() const {
    const MatrixXcd kernel = state_->lu.kernel();
    Eigen::Index unknown = 0;
    kernel.col(0).cwiseAbs().maxCoeff(&unknown);
    return static_cast<int>(unknown);
}

VectorXcd CompleteLu::solve(const VectorXcd& b) const {
    return state_->lu.solve(b);
}

VectorXcd CompleteLu::solve_transposed(const VectorXcd& b) const {
    return state_->lu.transpose().solve(b);
}

struct SparseLu::State {
    Eigen::SparseLU<Eigen::SparseMatrix<std::complex<double>>, Eigen::COLAMDOrdering<int>> lu;
};

SparseLu::SparseLu() : state_(std::make_unique<State>()) {}
SparseLu::~SparseLu() = default;

bool SparseLu::factorise(int size, const std::vector<Entry>& entries) {
    std::vector<Eigen::Triplet<std::complex<double>>> triplets;
    triplets.reserve(entries.size());
    for (const Entry& entry : entries) {
        triplets.emplace_back(entry.row, entry.column, entry.value);
    }
    Eigen::SparseMatrix<std::complex<double>> matrix(size, size);
    matrix.setFromTriplets(triplets.begin(), triplets.end());
    state_->lu.compute(matrix);
    return state_->lu.info() == Eigen::Success;
}

VectorXcd SparseLu::solve(const VectorXcd& b) const {
    return state_->lu.solve(b);
}

VectorXcd SparseLu::solve_transposed(const VectorXcd& b) {
    return state_->lu.transpose().solve(b);
}

}  // namespace lowhiss::dense
