#pragma once

#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {

/// Refines a solution with residuals taken in twice the digits, until c^T x stands still: then x is
/// that of the equations as they were stamped, but for rounding, where A is not singular to working
/// precision (Moler, "Iterative refinement in floating point", Journal of the ACM 14, 1967; Higham,
/// Accuracy and Stability of Numerical Algorithms, section 12.1). `factors` has A at the frequency.
/// Returns false, with x as good as it got, where c^T x does not settle to `most_move`.
bool sharpen(const Pencil& pencil, double frequency_hz, Side side, std::span<const Complex> b,
             std::span<const Complex> c, double most_move, ReferenceSolver& factors,
             std::vector<Complex>& x);

}  // namespace lowhiss
