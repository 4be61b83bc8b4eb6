#pragma once

#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {

// Extended path: takes a pencil and returns its solutions in extended precision. It costs a
// thousand times as much as the paths in doubles and is taken only if neither of them can be
// trusted.

/// Sums the stamps of a pencil exactly, factorises A at one frequency in fifty decimal digits
/// (Gaussian elimination, pivots by Markowitz among those of a tenth of their column or more), and
/// refines each solution with residuals in a hundred digits. Each correction must be a thousandth
/// of the one before: that proves the digits of the solution (Higham, Accuracy and Stability of
/// Numerical Algorithms, section 12.1). What does not converge is singular in fifty digits. An
/// unknown below 1e-60 of the largest, in equilibrated units, is an exact zero. One object per
/// thread. The pencil must outlive it.
class ExtendedSolver {
  public:
    explicit ExtendedSolver(const Pencil& pencil);
    ~ExtendedSolver();
    ExtendedSolver(ExtendedSolver&&) noexcept;
    ExtendedSolver& operator=(ExtendedSolver&&) noexcept;

    /// Throws Singular, which names the unknown.
    void factorise(double frequency_hz);

    /// Solve A x = b and A^T y = c with the matrix that was factorised last. Throw Singular.
    std::vector<Complex> solve(std::span<const Complex> b);
    std::vector<Complex> solve_transposed(std::span<const Complex> c);

    /// A x = b, A^T y = c and the gain c^T x. Throws Singular also where the rounding of the values
    /// in the stamps decides whether A is singular.
    struct Transfer {
        Solution solution;
        Complex gain;
        double bound;  ///< what the rounding of all values, each by four units in its last place,
                       ///< may do to the gain, to first order
    };
    Transfer transfer(std::span<const Complex> b, std::span<const Complex> c);

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace lowhiss
