#pragma once

#include <array>
#include <memory>
#include <new>
#include <optional>
#include <span>
#include <vector>

#include "lowhiss/solver/lane_kernel.hpp"
#include "lowhiss/solver/matrix.hpp"
#include "lowhiss/solver/once.hpp"

namespace lowhiss {

// Lane solver: takes a plan and a pencil and returns the solutions at up to eight frequencies.

struct AlignedDelete {
    static constexpr std::align_val_t alignment{64};
    void operator()(double* array) const { ::operator delete(array, alignment); }
};
// The array form of unique_ptr is named by an array type.
using AlignedArray = std::unique_ptr<double[], AlignedDelete>;  // NOLINT(modernize-avoid-c-arrays)

/// Solves A x = b and A^T y = c at several frequencies side by side, refined and checked as the
/// reference path does. A solution whose backward error stays above the limit is not trusted; the
/// caller must solve it otherwise. Inside, equations and unknowns are numbered by the step of their
/// pivot.
class LaneSolver {
  public:
    /// All must outlive the solver; the plan has a program and fits the pencil.
    LaneSolver(const Plan& plan, const Pencil& pencil, const LaneKernel& kernel);

    /// At most `lanes` frequencies; lanes beyond them repeat the last.
    void factorise(std::span<const double> frequency_hz);

    /// The right-hand sides are the same in every lane.
    void solve(std::span<const Complex> b, std::span<const Complex> c);

    // These describe the last solution.
    bool is_trusted(std::size_t lane) const { return trusted_[lane]; }
    double backward_error(std::size_t lane) const { return backward_error_[lane]; }
    SolvedLanes solved() const;
    double uncertainty(std::size_t lane) const { return uncertainty_[lane]; }
    Complex gain(std::size_t lane) const { return SolvedLanes::item(gain_.data(), 0, lane); }

    /// The likely error of c^T x: the residual and the rounding of each equation, weighed by the
    /// adjoint. Those of different equations are taken as independent, so their squares add up;
    /// unlike the uncertainty, which is a bound, this does not grow with the size of the circuit.
    double likely_error(std::size_t lane) const;

    /// The rounding of x times that of y, in equilibrated units. If for every unknown either x or y
    /// is only rounding noise about an exact zero, the gain is smaller than this.
    double second_order_noise(std::size_t lane) const;

    /// A bound on the error of c^T x by the rounding of cancelled sums in A (Pencil::cancelled).
    double cancellation(std::size_t lane) const;

    /// Puts another solution into a lane.
    void replace(std::size_t lane, const Solution& solution, Complex slope);

    /// Solves A x = b, or A^T x = b, with the last matrices and returns the solution of lane 0, or
    /// nothing if it is not trusted. Overwrites what `solve` found on that side.
    std::optional<std::vector<Complex>> solve_more(Side side, std::span<const Complex> b);

  private:
    using Row = std::array<double, lanes>;

    /// A x = b, or A^T y = c.
    struct System {
        Equations equations;
        std::vector<int> step_of_equation;
        std::vector<int> step_of_unknown;
        std::vector<double> unit;    ///< the scale of each unknown, by step
        std::vector<Complex> given;  ///< the right-hand side in `b`
        AlignedArray b, x, r, size;
        alignas(64) Row going;  ///< 1 in lanes that are still refined
        Row previous;           ///< error before the last step
        void set(std::span<const Complex> rhs);
    };
    System make_system(Side side) const;

    void substitute(double* x, double* y) const;
    bool is_good(System& system);
    void add_measured(System& system);
    void add_measured_slope();
    Row lenient_error(const System& system) const;

    alignas(64) Row omega_{};
    alignas(64) Row error_{};
    alignas(64) Row uncertainty_{};
    alignas(64) std::array<double, lane_stride> slope_{};
    std::array<double, lane_stride> gain_{};
    Row frequency_hz_{};
    const LaneKernel& kernel_;
    const Plan& plan_;
    const Pencil& pencil_;
    std::size_t size_;
    std::array<bool, lanes> trusted_{};
    std::vector<LinearTerm> slope_terms_;
    std::vector<int> step_of_row_;
    std::vector<int> step_of_column_;
    std::vector<double> pivot_scale_;  ///< of the pivots of `each`
    Reduced reduced_;
    System plain_;
    System transposed_;
    std::vector<std::pair<int, int>> measured_at_;  ///< steps of row and column
    std::vector<int> slot_of_measured_;             ///< in the program
    AlignedArray slots_, measured_;                 ///< measured: -Z
    Row backward_error_{};
};

}  // namespace lowhiss
