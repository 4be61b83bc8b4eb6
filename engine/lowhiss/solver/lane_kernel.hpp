#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// A complex number in every lane: the real parts, then the imaginary ones.
inline constexpr std::size_t lane_stride = 2 * lanes;

// Lists of terms are flat: loops of a few turns, one a step, would cost more in mispredicted
// branches than in arithmetic. Arrays hold lane_stride doubles a slot or value, aligned for
// vectors; those of real numbers hold `lanes`. The arithmetic is the same on every processor but
// for fused multiply-adds.

/// values[to] -= (g + j omega c) values[from]
struct LinearTerm {
    int to;
    int from;
    double g;
    double c;
};

/// Equations, those of as many terms beside each other.
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

    /// Carries the elimination out on `slots`: pivots become their inverses. Of each lane,
    /// `smallest` and `largest` become those of the pivots times their scale.
    void (*factorise)(const Elimination& elimination, const std::vector<double>& scale,
                      double* slots, double* smallest, double* largest);

    // Substitution in place with one triangle, on two sets of values at a time.
    void (*substitute_once)(std::span<const LinearTerm> a, double* a_values,
                            std::span<const LinearTerm> b, double* b_values, const double* omega);
    void (*substitute_each)(std::span<const Term> a, double* a_values, std::span<const Term> b,
                            double* b_values, const double* slots);

    /// values[k] times the k-th inverse pivot, of those that are eliminated once and then of the
    /// rest.
    void (*scale)(const std::vector<double>& once, const std::vector<int>& each,
                  const double* slots, double* values);

    /// r = b - A x, and size = |b| + |A| |x|, where |z| is |re| + |im|.
    void (*residual)(const Equations& equations, const double* omega, const double* b,
                     const double* x, double* r, double* size);

    /// The largest |r| / size of each lane; not a number where one is none. An error of `enough`
    /// or less is not computed exactly.
    void (*strict_error)(std::size_t unknowns, double enough, const double* r, const double* size,
                         double* error);

    /// x += r where the lane's `going` is not zero.
    void (*add)(std::size_t unknowns, const double* going, const double* r, double* x);

    /// sum of |y| (size - |b|) over the equations of A x = b.
    void (*uncertainty)(std::size_t unknowns, const double* y, const double* size, const double* b,
                        double* sum);

    /// y^T C x, complex.
    void (*bilinear)(const std::vector<LinearTerm>& terms, const double* y, const double* x,
                     double* sum);
};

}  // namespace lowhiss
