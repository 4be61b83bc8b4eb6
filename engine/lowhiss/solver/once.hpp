#pragma once

#include <vector>

#include "lowhiss/solver/lane_kernel.hpp"

namespace lowhiss {

// The part `once` of an elimination: takes a plan and a pencil and returns the matrix S(s) that is
// left for each frequency (see plan.hpp).

/// A pencil after the part of its elimination that all frequencies share, and the factors of that
/// part.
struct Reduced {
    std::vector<double> g;  ///< of each slot of `each`, with zeros for later fill
    std::vector<double> c;
    std::vector<double> inverse;  ///< of the pivots of `once`
    std::vector<LinearTerm> lower;
    std::vector<LinearTerm> upper;
    std::vector<LinearTerm> lower_transposed;
    std::vector<LinearTerm> upper_transposed;
    double smallest_pivot;  ///< in equilibrated units
    double largest_pivot;
};

/// Carries out `once` of the plan's program. Pivots are not checked: a pivot of zero gives
/// infinities, which show in the residual. The plan must fit the pencil.
Reduced reduce(const Plan& plan, const Pencil& pencil);

}  // namespace lowhiss
