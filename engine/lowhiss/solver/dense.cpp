#include "lowhiss/solver/dense.hpp"

#include <Eigen/LU>
#include <Eigen/SparseCore>
#include <Eigen/SparseLU>
#include <algorithm>
#include <limits>
#include <type_traits>

#define LAPACK_COMPLEX_CUSTOM
#define lapack_complex_float std::complex<float>
#define lapack_complex_double std::complex<double>
#include <lapack.h>

namespace lowhiss::dense {

using Eigen::MatrixXcd;
using Eigen::MatrixXd;
using Eigen::VectorXcd;
using Eigen::VectorXd;

namespace {

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

lapack_int rows_of(const auto& matrix) {
    return static_cast<lapack_int>(matrix.rows());
}

/// LAPACK takes no leading dimension of 0.
lapack_int leading_of(const auto& matrix) {
    return std::max(rows_of(matrix), 1);
}

// LAPACK by its Fortran names, all arguments by address: liblapacke would add milliseconds to the
// start of every run.

template <class Scalar>
using Matrix = Eigen::Matrix<Scalar, Eigen::Dynamic, Eigen::Dynamic>;

template <class Scalar>
constexpr bool is_real = std::is_same_v<Scalar, double>;

/// Leaves L, U and the rows swapped; 0 unless the matrix is singular.
template <class Scalar>
lapack_int factorise_in_place(Matrix<Scalar>& a, std::vector<int>& swapped) {
    swapped.resize(static_cast<std::size_t>(a.rows()));
    const lapack_int n = rows_of(a);
    const lapack_int leading = leading_of(a);
    lapack_int info = 0;
    if constexpr (is_real<Scalar>)
        LAPACK_dgetrf(&n, &n, a.data(), &leading, swapped.data(), &info);
    else
        LAPACK_zgetrf(&n, &n, a.data(), &leading, swapped.data(), &info);
    return info;
}

/// `side` is `plain` or `transposed`; b becomes x.
template <class Scalar>
void solve_in_place(char side, const Matrix<Scalar>& lu, const std::vector<int>& swapped, auto& b) {
    const lapack_int n = rows_of(lu);
    const lapack_int leading = leading_of(lu);
    const auto columns = static_cast<lapack_int>(b.cols());
    lapack_int info = 0;
    if constexpr (is_real<Scalar>)
        LAPACK_dgetrs(&side, &n, &columns, lu.data(), &leading, swapped.data(), b.data(), &leading,
                      &info);
    else
        LAPACK_zgetrs(&side, &n, &columns, lu.data(), &leading, swapped.data(), b.data(), &leading,
                      &info);
}

/// Eigenvalues, and into `vectors` the right eigenvectors if it is not null; false where the matrix
/// is not finite or the algorithm does not converge.
bool find_eigenvalues(MatrixXd a, VectorXd& real, VectorXd& imaginary, MatrixXd* vectors) {
    if (!a.allFinite()) return false;  // LAPACK may search it without end
    const char none = 'N';
    const char right = vectors != nullptr ? 'V' : 'N';
    const lapack_int n = rows_of(a);
    const lapack_int leading = leading_of(a);
    double* const v = vectors != nullptr ? vectors->data() : nullptr;
    lapack_int info = 0;
    double best_size = 1;
    const auto run = [&](double* work, lapack_int size) {
        LAPACK_dgeev(&none, &right, &n, a.data(), &leading, real.data(), imaginary.data(), v,
                     &leading, v, &leading, work, &size, &info);
    };
    run(&best_size, -1);
    std::vector<double> work(static_cast<std::size_t>(best_size));
    run(work.data(), static_cast<lapack_int>(work.size()));
    return info == 0;
}

constexpr char plain = 'N';
constexpr char transposed = 'T';

double ratio_of_pivots(const auto& lu) {
    const VectorXd pivots = lu.diagonal().cwiseAbs();
    return pivots.minCoeff<Eigen::PropagateNaN>() / pivots.maxCoeff<Eigen::PropagateNaN>();
}

}  // namespace

MatrixXd solve(const MatrixXd& a, const MatrixXd& b) {
    MatrixXd lu = a;
    std::vector<int> swapped;
    if (factorise_in_place(lu, swapped) != 0) {
        return MatrixXd::Constant(b.rows(), b.cols(), not_a_number);
    }
    MatrixXd x = b;
    solve_in_place(plain, lu, swapped, x);
    return x;
}

VectorXcd eigenvalues(const MatrixXd& a) {
    VectorXd real(a.rows());
    VectorXd imaginary(a.rows());
    if (!find_eigenvalues(a, real, imaginary, nullptr)) {
        return VectorXcd::Constant(a.rows(), not_a_number);
    }
    return real + std::complex<double>(0, 1) * imaginary;
}

Eigensystem eigensystem(const MatrixXd& a) {
    VectorXd real(a.rows());
    VectorXd imaginary(a.rows());
    MatrixXd vectors(a.rows(), a.rows());
    if (!find_eigenvalues(a, real, imaginary, &vectors)) {
        return {VectorXcd::Constant(a.rows(), not_a_number),
                MatrixXcd::Constant(a.rows(), a.rows(), not_a_number)};
    }
    constexpr std::complex<double> i(0, 1);
    Eigensystem result{real + i * imaginary, vectors.cast<std::complex<double>>()};
    // The vectors of a conjugate pair are two columns, the real and the imaginary part of the
    // first.
    for (Eigen::Index k = 0; k + 1 < a.rows(); ++k) {
        if (imaginary(k) == 0) continue;
        result.vectors.col(k) = vectors.col(k) + i * vectors.col(k + 1);
        result.vectors.col(k + 1) = result.vectors.col(k).conjugate();
        ++k;
    }
    return result;
}

void PartialLu::factorise(const MatrixXcd& a) {
    lu_ = a;
    factorise_in_place(lu_, swapped_);
}

double PartialLu::pivot_ratio() const {
    return ratio_of_pivots(lu_);
}

VectorXcd PartialLu::solve(const VectorXcd& b) const {
    VectorXcd x = b;
    solve_in_place(plain, lu_, swapped_, x);
    return x;
}

VectorXcd PartialLu::solve_transposed(const VectorXcd& b) const {
    VectorXcd x = b;
    solve_in_place(transposed, lu_, swapped_, x);
    return x;
}

MatrixXcd PartialLu::inverse() const {
    MatrixXcd x = MatrixXcd::Identity(lu_.rows(), lu_.rows());
    solve_in_place(plain, lu_, swapped_, x);
    return x;
}

std::complex<double> PartialLu::determinant_direction() const {
    std::complex<double> direction = 1;
    for (Eigen::Index k = 0; k < lu_.rows(); ++k) {
        if (swapped_[static_cast<std::size_t>(k)] != k + 1) direction = -direction;
        direction *= lu_(k, k) / std::abs(lu_(k, k));
    }
    return direction;
}

MatrixXd PartialLu::magnitude_product() const {
    const MatrixXd lu = lu_.cwiseAbs();
    const MatrixXd lower = lu.triangularView<Eigen::UnitLower>();
    const MatrixXd upper = lu.triangularView<Eigen::Upper>();
    MatrixXd product = lower.lazyProduct(upper);
    for (Eigen::Index k = lu.rows() - 1; k >= 0; --k) {
        product.row(k).swap(product.row(swapped_[static_cast<std::size_t>(k)] - 1));
    }
    return product;
}

void RealPartialLu::factorise(const MatrixXd& a) {
    lu_ = a;
    factorise_in_place(lu_, swapped_);
}

double RealPartialLu::pivot_ratio() const {
    return ratio_of_pivots(lu_);
}

VectorXd RealPartialLu::solve(const VectorXd& b) const {
    VectorXd x = b;
    solve_in_place(plain, lu_, swapped_, x);
    return x;
}

VectorXd RealPartialLu::solve_transposed(const VectorXd& b) const {
    VectorXd x = b;
    solve_in_place(transposed, lu_, swapped_, x);
    return x;
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
