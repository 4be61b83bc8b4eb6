#pragma once

#include <complex>
#include <memory>
#include <span>
#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

/// The matrix at one frequency is singular, or too near it for its solution to mean anything.
/// `unknown` is the unknown that the equations leave free, or -1 when none stands out.
struct Singular {
    int unknown = -1;
};

/// The largest componentwise backward error that a solution may have (Oettli and Prager 1964:
/// max |b - Ax| / (|A||x| + |b|)). Solutions are refined towards rounding, a hundredth of it.
inline constexpr double largest_backward_error = 1e-13;

/// What a solver did so far.
struct SolverAccount {
    std::size_t factorisations = 0;
    std::size_t solutions = 0;
    std::size_t fallbacks = 0;  ///< factorisations that the reference path had to make
    std::size_t left_by_lanes = 0;  ///< frequencies that the lanes could not do within the bound
    double worst_backward_error = 0;
};

/// The pivoting reference path: A at one frequency, equilibrated by powers of two, factorised by
/// Eigen with partial pivoting (dense up to 200 unknowns, else sparse), with complete pivoting
/// where a pivot looks suspicious; each solution refined until its backward error is rounding.
/// Cost n^3 dense. One object a thread. The pencil must outlive it.
class ReferenceSolver {
  public:
    explicit ReferenceSolver(const Pencil& pencil);
    ~ReferenceSolver();
    ReferenceSolver(ReferenceSolver&&) noexcept;
    ReferenceSolver& operator=(ReferenceSolver&&) noexcept;

    /// Throws Singular.
    void factorise(double frequency_hz);

    /// Solve A x = b and A^T y = c, of the matrix that was factorised last. Throw Singular when
    /// the bound on the backward error cannot be met.
    std::vector<Complex> solve(std::span<const Complex> b);
    std::vector<Complex> solve_transposed(std::span<const Complex> c);

    const SolverAccount& account() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// The instruction set that `Solver::solve_at` uses on this processor, as Highway names it.
const char* instruction_set();

/// A x = b and A^T y = c at one frequency.
struct Solution {
    std::vector<Complex> x;
    std::vector<Complex> y;
};

/// The fast path: runs the plan's program, refines and checks each solution as the reference path
/// does, and hands the frequency over to the reference path when its pivots do not suit. Same
/// contract.
class Solver {
  public:
    Solver(std::shared_ptr<const Plan> plan, const Pencil& pencil);
    ~Solver();
    Solver(Solver&&) noexcept;
    Solver& operator=(Solver&&) noexcept;

    void factorise(double frequency_hz);
    std::vector<Complex> solve(std::span<const Complex> b);
    std::vector<Complex> solve_transposed(std::span<const Complex> c);

    /// Both at each frequency, eight side by side: the way to go where more than a few are wanted.
    /// Which matrix is left factorised is not said. Throws Singular.
    std::vector<Solution> solve_at(std::span<const double> frequency_hz, std::span<const Complex> b,
                                   std::span<const Complex> c);

    const SolverAccount& account() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace lowhiss
