#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// Doubles for a complex number in every lane: the real parts, then the imaginary parts.
inline constexpr std::size_t lane_stride = 2 * lanes;

// Lane kernel: the arithmetic of the lane solver, on lists of terms and arrays of lanes.
//
// Lists of terms are flat: a short loop per step would cost more in mispredicted branches than in
// arithmetic. Arrays hold lane_stride doubles per slot or value, aligned for vectors; arrays of
// real numbers hold `lanes`. Results are the same on every processor except for fused
// multiply-adds.

/// values[to] -= (g + j omega c) values[from]
struct LinearTerm {
    int to;
    int from;
    double g;
    double c;
};

/// Equations, ordered by their numbers of terms.
struct Equations {
    struct Term {
        int from;
        double value;
    };
    std::vector<int> to;     ///< number of each equation
    std::vector<int> start;  ///< of its terms in g, and the end
    std::vector<Term> g;
    std::vector<LinearTerm> c;  ///< of all equations
};

/// The lane solver's functions, compiled for one instruction set.
struct LaneKernel {
    const char* instruction_set;  ///< as Highway names it

    /// slots = g + j omega c
    void (*fill)(const std::vector<double>& g, const std::vector<double>& c, const double* omega,
                 double* slots);

    /// Carries out the elimination on `slots`; pivots are replaced by their inverses. `smallest`
    /// and `largest` receive the extremes of the scaled pivots in each lane.
    void (*factorise)(const Elimination& elimination, const std::vector<double>& scale,
                      double* slots, double* smallest, double* largest);

    // Substitution in place with one triangle, on two sets of values at a time.
    void (*substitute_once)(std::span<const LinearTerm> a, double* a_values,
                            std::span<const LinearTerm> b, double* b_values, const double* omega);
    void (*substitute_each)(std::span<const Term> a, double* a_values, std::span<const Term> b,
                            double* b_values, const double* slots);

    /// values[k] *= the inverse of pivot k, those of `once` first, then those of `each`.
    void (*scale)(const std::vector<double>& once, const std::vector<int>& each,
                  const double* slots, double* values);

    /// r = b - A x, and size = |b| + |A| |x|, where |z| is |re| + |im|.
    void (*residual)(const Equations& equations, const double* omega, const double* b,
                     const double* x, double* r, double* size);

    /// The largest |r| / size of each lane, NaN if any is NaN. An error of `enough` or less is not
    /// computed exactly.
    void (*strict_error)(std::size_t unknowns, double enough, const double* r, const double* size,
                         double* error);

    /// x += r in lanes whose `going` is not zero.
    void (*add)(std::size_t unknowns, const double* going, const double* r, double* x);

    /// The sum of |y| (size - |b|) over the equations of A x = b.
    void (*uncertainty)(std::size_t unknowns, const double* y, const double* size, const double* b,
                        double* sum);

    /// y^T C x, complex.
    void (*bilinear)(const std::vector<LinearTerm>& terms, const double* y, const double* x,
                     double* sum);
};

}  // namespace lowhiss
