#pragma once

#include <hwy/aligned_allocator.h>

#include <array>
#include <span>
#include <vector>

#include "lane_kernel.hpp"
#include "matrix.hpp"

namespace lowhiss {

/// Solves A x = b and A^T y = c at several frequencies side by side, refined and checked as the
/// scalar path does. What does not come out within the bound is not trusted; somebody else has to
/// solve it.
class LaneSolver {
  public:
    /// Both must outlive the solver.
    LaneSolver(const Plan& plan, const Pencil& pencil);

    /// At most `lanes` frequencies. The right-hand sides are the same in every lane.
    void solve(std::span<const double> frequency_hz, std::span<const Complex> b,
               std::span<const Complex> c);

    // Of the last solution.
    bool is_trusted(std::size_t lane) const { return trusted_[lane]; }
    double backward_error(std::size_t lane) const { return backward_error_[lane]; }
    std::vector<Complex> x(std::size_t lane) const { return taken(x_.get(), lane); }
    std::vector<Complex> y(std::size_t lane) const { return taken(y_.get(), lane); }

  private:
    using Array = hwy::AlignedFreeUniquePtr<double[]>;  // NOLINT(modernize-avoid-c-arrays)
    using Row = std::array<double, lanes>;

    /// How large each equation's terms are when every unknown is 1 in equilibrated units: g + omega
    /// c.
    struct Reach {
        std::vector<double> g;
        std::vector<double> c;
    };
    static Reach reach_of(const SplitEquations& equations, const std::vector<double>& unit);

    void fill(std::span<const double> frequency_hz);
    void refine(Side side, std::span<const Complex> rhs, double* solution);
    void add_measured(Side side, const double* x);
    Row lenient_error(Side side, const double* x) const;
    std::vector<Complex> taken(const double* unknowns, std::size_t lane) const;

    alignas(64) Row omega_{};
    alignas(64) Row error_{};
    const Plan& plan_;
    const Pencil& pencil_;
    SplitEquations by_row_;
    SplitEquations by_column_;
    Reach by_row_reach_;
    Reach by_column_reach_;
    std::vector<int> column_of_slot_;
    std::vector<double> pivot_scale_;
    std::size_t size_;
    Array slots_, inverse_, x_, y_;
    Array b_, work_, correction_, r_, magnitude_, equation_size_;
    Array measured_;  ///< -Z of each measured slot
    Row backward_error_{};
    std::array<bool, lanes> trusted_{};
};

}  // namespace lowhiss
