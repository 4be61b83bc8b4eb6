#pragma once

#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {

// Sharpening: takes a solution whose gain may be spoilt by rounding and refines it with residuals
// of twice the precision.

/// Refines x with residuals in two doubles until c^T x no longer changes. If A is not singular to
/// working precision, x is then the solution of the equations as stamped, up to rounding (Moler,
/// "Iterative refinement in floating point", Journal of the ACM 14, 1967; Higham, Accuracy and
/// Stability of Numerical Algorithms, section 12.1). `factors` must hold A at the frequency.
/// Returns false, with x as far as it was refined, if c^T x does not settle to `most_move`.
bool sharpen(const Pencil& pencil, double frequency_hz, Side side, std::span<const Complex> b,
             std::span<const Complex> c, double most_move, ReferenceSolver& factors,
             std::vector<Complex>& x);

}  // namespace lowhiss
