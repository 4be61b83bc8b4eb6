#pragma once

#include <cstddef>
#include <vector>

#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

/// As many frequencies are solved side by side, whatever the processor's vectors hold.
inline constexpr std::size_t lanes = 8;

/// A complex number in every lane: the real parts, then the imaginary ones.
inline constexpr std::size_t lane_stride = 2 * lanes;

/// The real coefficients of each equation's unknowns, zeros left out.
struct Terms {
    struct Term {
        int index;
        double value;
    };
    std::vector<int> start;  ///< by equation, and the end
    std::vector<Term> terms;
};

/// One side of A = G + j omega C: the equations of A x, or those of A^T y.
struct SplitEquations {
    Terms g;
    Terms c;
};

// Arrays hold lane_stride doubles a slot or unknown, aligned for vectors; those of real numbers
// hold `lanes`. The arithmetic is the same on every processor but for fused multiply-adds.

/// Runs the program on `slots`, which hold A's values and zeros for the fill. `pivot_ratio` becomes
/// the smallest pivot over the largest, in equilibrated units, of each lane.
void factorise_lanes(const Program& program, const double* pivot_scale, double* slots,
                     double* inverse, double* pivot_ratio);

/// Solve with the factors; `work` has the right-hand side and is used up.
void solve_lanes(const Program& program, const double* slots, const double* inverse, double* work,
                 double* x);
void solve_transposed_lanes(const Program& program, const double* slots, const double* inverse,
                            double* work, double* y);

/// r = b - A x, and size = |b| + |A| |x|, where |z| is |re| + |im|. `magnitude` is room for as many
/// real numbers as there are unknowns.
void residual_lanes(const SplitEquations& equations, const double* omega, const double* b,
                    const double* x, double* magnitude, double* r, double* size);

/// The largest |r| / size of each lane; not a number where one is none.
void strict_error_lanes(std::size_t unknowns, const double* r, const double* size, double* error);

}  // namespace lowhiss
