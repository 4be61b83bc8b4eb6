#pragma once

#include <complex>
#include <memory>
#include <span>
#include <vector>

#include "lowhiss/equations/pencil.hpp"

namespace lowhiss {

using Complex = std::complex<double>;

/// The matrix at one frequency is singular, or too near it for its solution to mean anything.
/// `unknown` is the unknown that the equations leave free, or -1 when none stands out.
struct Singular {
    int unknown = -1;
};

/// The largest componentwise backward error that a solution may have (Oettli and Prager 1964:
/// max |b - Ax| / (|A||x| + |b|)); the entries of A are then known to that relative accuracy.
inline constexpr double largest_backward_error = 1e-13;

/// What depends on the structure of the equations alone: made once, used for every value.
struct Plan {
    enum class Storage { dense, sparse };
    int size = 0;
    Storage storage = Storage::dense;
};
Plan make_plan(const Pencil& pencil);

/// The pivoting reference path: A at one frequency, equilibrated by powers of two, factorised with
/// partial pivoting (dense below 200 unknowns, else sparse), each solution refined until its
/// backward error is below the bound. Cost n^3 dense. One object a thread.
class ReferenceSolver {
  public:
    ReferenceSolver(const Plan& plan, const Pencil& pencil);
    ~ReferenceSolver();
    ReferenceSolver(ReferenceSolver&&) noexcept;
    ReferenceSolver& operator=(ReferenceSolver&&) noexcept;

    /// Throws Singular.
    void factorise(double frequency_hz);

    /// Solve A x = b and A^T y = c, of the matrix that was factorised last. Throw Singular when
    /// the bound on the backward error cannot be met.
    std::vector<Complex> solve(std::span<const Complex> b);
    std::vector<Complex> solve_transposed(std::span<const Complex> c);

    /// A's values, one a slot of the pencil.
    std::span<const Complex> values() const;

    /// The worst backward error of any solution so far.
    double worst_backward_error() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace lowhiss
