#pragma once

#include <vector>

#include "lowhiss/solver/lane_kernel.hpp"

namespace lowhiss {

/// A pencil after the part of its elimination that all frequencies share, and what that part left
/// for substitution.
struct Reduced {
    std::vector<double> g;  ///< of each slot of the program, the fill that is yet to come included
    std::vector<double> c;
    std::vector<double> inverse;  ///< of the pivots of `once`
    std::vector<LinearTerm> lower;
    std::vector<LinearTerm> upper;
    std::vector<LinearTerm> lower_transposed;
    std::vector<LinearTerm> upper_transposed;
    double smallest_pivot;  ///< in equilibrated units
    double largest_pivot;
};

/// Carries out `once` of the plan's program. Nothing is checked: where a pivot is zero, infinities
/// end up in the residual. The plan must fit the pencil.
Reduced reduce(const Plan& plan, const Pencil& pencil);

}  // namespace lowhiss
