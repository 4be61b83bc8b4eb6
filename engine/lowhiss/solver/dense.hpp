#pragma once

#include <Eigen/Core>
#include <complex>
#include <memory>
#include <vector>

namespace lowhiss::dense {

// LAPACK's decompositions, and Eigen's where LAPACK has none, behind plain functions: Eigen's
// templates take long to compile, so one file that includes no other of ours instantiates them.

/// X of A X = B, by LU with partial pivoting; not finite where A is singular. O(n^3).
Eigen::MatrixXd solve(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b);

/// Eigenvalues of a real matrix, by the QR algorithm; conjugate pairs are neighbours. All are NaN
/// if the matrix is not finite or the algorithm does not converge.
Eigen::VectorXcd eigenvalues(const Eigen::MatrixXd& a);

/// The same with right eigenvectors of length 1, as columns.
struct Eigensystem {
    Eigen::VectorXcd values;
    Eigen::MatrixXcd vectors;
};
Eigensystem eigensystem(const Eigen::MatrixXd& a);

/// A = P L U with partial pivoting.
class PartialLu {
  public:
    void factorise(const Eigen::MatrixXcd& a);
    /// The smallest pivot over the largest, in magnitude; NaN if any pivot is.
    double pivot_ratio() const;
    Eigen::VectorXcd solve(const Eigen::VectorXcd& b) const;
    Eigen::VectorXcd solve_transposed(const Eigen::VectorXcd& b) const;
    Eigen::MatrixXcd inverse() const;
    /// det A over its magnitude.
    std::complex<double> determinant_direction() const;
    /// P |L| |U|: rounding in the factors is a small multiple of epsilon times this (Higham,
    /// "Accuracy and Stability of Numerical Algorithms", 2002, section 9.3).
    Eigen::MatrixXd magnitude_product() const;

  private:
    Eigen::MatrixXcd lu_;
    std::vector<int> swapped_;  ///< row k was swapped with row swapped_[k], counted from 1
};

/// The same for a real matrix, in a quarter of the time or less.
class RealPartialLu {
  public:
    void factorise(const Eigen::MatrixXd& a);
    double pivot_ratio() const;
    Eigen::VectorXd solve(const Eigen::VectorXd& b) const;
    Eigen::VectorXd solve_transposed(const Eigen::VectorXd& b) const;

  private:
    Eigen::MatrixXd lu_;
    std::vector<int> swapped_;
};

/// A = P L U Q with complete pivoting, which reveals the rank.
class CompleteLu {
  public:
    explicit CompleteLu(const Eigen::MatrixXcd& a);
    ~CompleteLu();

    bool is_invertible() const;
    /// The entry of largest magnitude in the first vector of the null space of A.
    int free_unknown() const;
    Eigen::VectorXcd solve(const Eigen::VectorXcd& b) const;
    Eigen::VectorXcd solve_transposed(const Eigen::VectorXcd& b) const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// One entry of a sparse matrix.
struct Entry {
    int row;
    int column;
    std::complex<double> value;
};

/// Sparse LU with partial pivoting, columns ordered by COLAMD.
class SparseLu {
  public:
    SparseLu();
    ~SparseLu();

    /// False where the matrix is singular.
    bool factorise(int size, const std::vector<Entry>& entries);
    Eigen::VectorXcd solve(const Eigen::VectorXcd& b) const;
    Eigen::VectorXcd solve_transposed(const Eigen::VectorXcd& b);

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace lowhiss::dense
