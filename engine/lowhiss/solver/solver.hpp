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

/// The matrix at one frequency is singular, or too near it for its solution to mean anything.
/// `unknown` is the unknown that the equations leave free, or -1 when none stands out.
struct Singular {
    int unknown = -1;
    double frequency_hz = 0;
};

/// The largest componentwise backward error that a solution may have (Oettli and Prager 1964:
/// max |b - Ax| / (|A||x| + |b|)).
inline constexpr double largest_backward_error = 1e-13;

/// Solutions are refined until theirs is no larger, or refinement does not help: what is left is
/// gone with the next step, or is rounding.
inline constexpr double good_backward_error = 1e-14;

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

/// As many frequencies are solved side by side, whatever the processor's vectors hold.
inline constexpr std::size_t lanes = 8;

/// The functions that run in lanes, compiled for one instruction set.
struct LaneKernel;

/// Those that this build has and this processor runs, the fastest first; never empty.
std::span<const LaneKernel* const> lane_kernels();

/// "AVX2", as Highway names it.
const char* instruction_set(const LaneKernel& kernel);

/// A x = b and A^T y = c at one frequency.
struct Solution {
    std::vector<Complex> x;
    std::vector<Complex> y;
};

/// Up to eight frequencies' solutions, as the solver leaves them: of each unknown the real parts in
/// all lanes, then the imaginary ones. They live until the next are solved.
struct SolvedLanes {
    std::size_t first;  ///< number of the frequency in lane 0
    std::size_t count;  ///< lanes with a frequency of their own
    const double* x;
    const double* y;
    const int* place_of_x;  ///< where each unknown stands
    const int* place_of_y;
    const double* uncertainty;  ///< of y^T b = c^T x: epsilon |y|^T |A| |x|
    const double* slope;        ///< y^T (dA/domega) x, complex

    Complex x_at(std::size_t unknown, std::size_t lane) const {
        return item(x, place(place_of_x, unknown), lane);
    }
    Complex y_at(std::size_t unknown, std::size_t lane) const {
        return item(y, place(place_of_y, unknown), lane);
    }
    const double* y_of(std::size_t unknown) const {
        return y + 2 * lanes * place(place_of_y, unknown);
    }
    Complex slope_at(std::size_t lane) const { return item(slope, 0, lane); }

    static std::size_t place(const int* places, std::size_t unknown) {
        return static_cast<std::size_t>(places[unknown]);
    }
    static Complex item(const double* array, std::size_t index, std::size_t lane) {
        return {array[2 * lanes * index + lane], array[2 * lanes * index + lanes + lane]};
    }
};

/// The fast path: runs the plan's program in lanes, refines and checks each solution as the
/// reference path does, and hands a frequency over to the reference path when its pivots do not
/// suit. Same contract. Where the plan does not fit the pencil all go to the reference path.
class Solver {
  public:
    /// The pencil must outlive the solver.
    Solver(std::shared_ptr<const Plan> plan, const Pencil& pencil,
           const LaneKernel& kernel = *lane_kernels().front());
    ~Solver();
    Solver(Solver&&) noexcept;
    Solver& operator=(Solver&&) noexcept;

    using Visit = std::function<void(const SolvedLanes&)>;

    /// A x = b and A^T y = c at each frequency, handed out as they come. Throws Singular.
    void solve_at(std::span<const double> frequency_hz, std::span<const Complex> b,
                  std::span<const Complex> c, const Visit& visit);

    /// The same at one frequency; its matrix stays factorised.
    Solution solve_at(double frequency_hz, std::span<const Complex> b, std::span<const Complex> c);

    /// A x = b, A^T y = c with the matrix of the last single frequency. Throw Singular.
    std::vector<Complex> solve_more(std::span<const Complex> b);
    std::vector<Complex> solve_more_transposed(std::span<const Complex> c);

    const SolverAccount& account() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace lowhiss
