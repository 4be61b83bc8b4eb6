#pragma once

#include <complex>
#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/account.hpp"
#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

// Solver: takes a pencil and a plan for its pattern, and returns solutions with a measured backward
// error. The fast path is `Solver`, the pivoting path behind it `ReferenceSolver`, and behind that
// `ExtendedSolver` in extended precision.

/// The matrix at one frequency is singular or too close to singular for a reliable solution.
/// `unknown` is the unknown that the equations do not determine, or -1 if it is not known.
struct Singular {
    int unknown = -1;
    double frequency_hz = 0;
};

/// The largest componentwise backward error, max |b - Ax| / (|A||x| + |b|), that a solution may
/// have (Oettli and Prager, "Compatibility of approximate solution of linear equations with given
/// error bounds for coefficients and right-hand sides", Numerische Mathematik 6, 1964).
inline constexpr double largest_backward_error = 1e-13;

/// Refinement stops at this backward error, or earlier if it no longer helps.
inline constexpr double good_backward_error = 1e-14;

/// The pivoting reference path: A at one frequency, equilibrated by powers of two, factorised by
/// LAPACK with partial pivoting. Eigen factorises it with complete pivoting if a pivot is
/// suspiciously small, and as a sparse matrix if there are more than 200 unknowns. Each solution is
/// refined until its backward error is no more than rounding. Cost n^3 if dense. One object per
/// thread. The pencil must outlive it.
class ReferenceSolver {
  public:
    explicit ReferenceSolver(const Pencil& pencil);
    ~ReferenceSolver();
    ReferenceSolver(ReferenceSolver&&) noexcept;
    ReferenceSolver& operator=(ReferenceSolver&&) noexcept;

    /// Throws Singular.
    void factorise(double frequency_hz);

    /// Solve A x = b and A^T y = c with the matrix that was factorised last. Throw Singular if the
    /// backward error stays above its limit.
    std::vector<Complex> solve(std::span<const Complex> b);
    std::vector<Complex> solve_transposed(std::span<const Complex> c);

    const SolverAccount& account() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// The number of frequencies that are solved side by side, the same on every processor.
inline constexpr std::size_t lanes = 8;

/// The functions that run in lanes, compiled for one instruction set.
struct LaneKernel;

/// The kernels that this build has and this processor can run, the fastest first; never empty.
std::span<const LaneKernel* const> lane_kernels();

/// "AVX2", as Highway names it.
const char* instruction_set(const LaneKernel& kernel);

/// A x = b and A^T y = c at one frequency, and c^T x where the solver gives it.
struct Solution {
    std::vector<Complex> x;
    std::vector<Complex> y;
    Complex gain{};  ///< 0 where its error bound reaches it
};

/// The solutions at up to eight frequencies as the solver stores them: of each unknown the real
/// parts in all lanes, then the imaginary parts. Valid until the next are solved.
struct SolvedLanes {
    std::size_t first;  ///< index of the frequency in lane 0
    std::size_t count;  ///< lanes in use
    const double* x;
    const double* y;
    const int* place_of_x;  ///< the place of each unknown in x
    const int* place_of_y;
    const double* gain;   ///< y^T b = c^T x, complex; 0 where its error bound reaches it
    const double* slope;  ///< y^T (dA/domega) x, complex

    Complex x_at(std::size_t unknown, std::size_t lane) const {
        return item(x, place(place_of_x, unknown), lane);
    }
    Complex y_at(std::size_t unknown, std::size_t lane) const {
        return item(y, place(place_of_y, unknown), lane);
    }
    const double* y_of(std::size_t unknown) const {
        return y + 2 * lanes * place(place_of_y, unknown);
    }
    Complex gain_at(std::size_t lane) const { return item(gain, 0, lane); }
    Complex slope_at(std::size_t lane) const { return item(slope, 0, lane); }

    static std::size_t place(const int* places, std::size_t unknown) {
        return static_cast<std::size_t>(places[unknown]);
    }
    static Complex item(const double* array, std::size_t index, std::size_t lane) {
        return {array[2 * lanes * index + lane], array[2 * lanes * index + lanes + lane]};
    }
};

/// The fast path: runs the plan's program in lanes, and refines and checks each solution as the
/// reference path does. Frequencies for which the pivots are unsuitable, and all if the plan does
/// not fit the pencil, are solved by the reference path. Same contract.
///
/// The gain c^T x is right to 1e-9 of itself, or it is 0 if it cannot be told from the rounding of
/// the parts' values. Frequencies at which the reference path does not reach that are solved by the
/// extended path.
class Solver {
  public:
    /// The pencil must outlive the solver.
    Solver(std::shared_ptr<const Plan> plan, const Pencil& pencil,
           const LaneKernel& kernel = *lane_kernels().front());
    ~Solver();
    Solver(Solver&&) noexcept;
    Solver& operator=(Solver&&) noexcept;

    /// Allows gains smaller than this an error of 1e-9 of it, for callers that need no gain or none
    /// so small. Without it the error is 1e-9 of the gain itself.
    void neglect_gains_below(double gain);

    using Visit = std::function<void(const SolvedLanes&)>;

    /// Solves A x = b and A^T y = c at each frequency and passes up to eight at a time to `visit`.
    /// Throws Singular.
    void solve_at(std::span<const double> frequency_hz, std::span<const Complex> b,
                  std::span<const Complex> c, const Visit& visit);

    /// The same at one frequency, whose matrix stays factorised.
    Solution solve_at(double frequency_hz, std::span<const Complex> b, std::span<const Complex> c);

    /// Solve A x = b and A^T y = c with the matrix of the last single frequency. Throw Singular.
    std::vector<Complex> solve_more(std::span<const Complex> b);
    std::vector<Complex> solve_more_transposed(std::span<const Complex> c);

    const SolverAccount& account() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace lowhiss
