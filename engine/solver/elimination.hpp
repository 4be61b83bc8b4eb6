#pragma once

#include <span>
#include <vector>

#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

/// Runs a program: A = L U at one frequency, then solutions with both and with their transposes.
/// Nothing is checked here; the caller looks at the residual.
class Elimination {
  public:
    Elimination(const Program& program, const Scaling& scaling);

    /// Returns the smallest pivot over the largest, in equilibrated units: near zero, the matrix
    /// may be singular.
    double factorise(std::span<const Complex> values);
    std::vector<Complex> solve(std::span<const Complex> b) const;
    std::vector<Complex> solve_transposed(std::span<const Complex> c) const;

  private:
    const Program& program_;
    std::vector<double> pivot_scale_;
    std::vector<Complex> slots_;    ///< U's entries, and L's below the pivots
    std::vector<Complex> inverse_;  ///< of each pivot
};

}  // namespace lowhiss
