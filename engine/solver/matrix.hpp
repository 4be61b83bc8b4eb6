#pragma once

#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

enum class Side { plain, transposed };

/// Powers of two that bring the largest entry of each row and column of A near 1.
struct Scaling {
    std::vector<double> row;
    std::vector<double> column;
};
Scaling equilibrate(const Pencil& pencil, std::span<const Complex> values);

/// The residual of a solution and how large each of its equations is.
struct Residual {
    std::vector<Complex> r;     ///< b - A x, or b - A^T x
    std::vector<double> size;   ///< |b| + |A| |x|
    std::vector<double> bound;  ///< |A| times the largest unknown, in equilibrated units
};
Residual residual(const Pencil& pencil, std::span<const Complex> values, const Scaling& scaling,
                  Side side, std::span<const Complex> b, std::span<const Complex> x);

/// The largest |r| / size over the equations; not finite when the solution is not. An equation
/// whose unknowns are all rounding noise about an exact zero (a part that the signal does not
/// reach) is measured against size + bound instead: Arioli, Demmel and Duff, "Solving sparse linear
/// systems with sparse backward error", SIAM J. Matrix Anal. Appl. 10 (1989), section 2.
double backward_error(const Residual& residual);

}  // namespace lowhiss
