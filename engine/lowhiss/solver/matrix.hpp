#pragma once

#include <cmath>
#include <optional>
#include <utility>

#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// Below this ratio of pivots a matrix is looked at with complete pivoting.
inline constexpr double suspicious_pivot = 1e-12;

enum class Side { plain, transposed };

/// Within a factor sqrt 2 of the modulus, and much cheaper.
inline double magnitude(Complex z) {
    return std::abs(z.real()) + std::abs(z.imag());
}

/// Calls visit(row, column, slot) for every slot of the pattern, column by column.
template <class Visit>
void for_each_slot(const Pencil& pencil, Visit visit) {
    for (std::size_t column = 0; column + 1 < pencil.column_start.size(); ++column) {
        const auto last = static_cast<std::size_t>(pencil.column_start[column + 1]);
        for (auto k = static_cast<std::size_t>(pencil.column_start[column]); k < last; ++k) {
            visit(static_cast<std::size_t>(pencil.row[k]), column, k);
        }
    }
}

/// The residual of a solution and how large each of its equations is.
struct Residual {
    std::vector<Complex> r;     ///< b - A x, or b - A^T x
    std::vector<double> size;   ///< |b| + |A| |x|
    std::vector<double> bound;  ///< |A| times the largest unknown, in equilibrated units
};
Residual residual(const Pencil& pencil, std::span<const Complex> values, const Scaling& scaling,
                  Side side, std::span<const Complex> b, std::span<const Complex> x);

/// The largest |r| / size over the equations; not finite when the solution is not.
double strict_error(const Residual& residual);

/// The same, but an equation whose unknowns are all rounding noise about an exact zero (a part that
/// the signal does not reach) is measured against size + bound instead: Arioli, Demmel and Duff,
/// "Solving sparse linear systems with sparse backward error", SIAM J. Matrix Anal. Appl. 10
/// (1989), section 2. Unknowns that are small in equilibrated units without being noise profit too,
/// so this is for what refinement cannot bring below the bound.
double backward_error(const Residual& residual);

struct Refined {
    std::vector<Complex> x;
    double backward_error;
};

/// Solves with `solve` and refines as long as that at least halves the strict error and it is above
/// rounding; three times more where an equation is noise about an exact zero, whose error never
/// falls and hides that others' still do. Nothing when the backward error stays above the bound.
template <class Solve>
std::optional<Refined> solve_refined(const Pencil& pencil, std::span<const Complex> values,
                                     const Scaling& scaling, Side side, std::span<const Complex> b,
                                     Solve solve) {
    std::vector<Complex> x = solve(b);
    double previous = std::numeric_limits<double>::infinity();
    int more = 3;
    for (;;) {
        const Residual left = residual(pencil, values, scaling, side, b, x);
        const double strict = strict_error(left);
        const bool stands_still = strict <= good_backward_error || !(strict < previous / 2);
        const bool is_hidden = strict > largest_backward_error && std::isfinite(strict);
        if (stands_still && !(is_hidden && more-- > 0)) {
            const double error = strict <= largest_backward_error ? strict : backward_error(left);
            if (!(error <= largest_backward_error)) return std::nullopt;
            return Refined{std::move(x), error};
        }
        previous = strict;
        const std::vector<Complex> correction = solve(left.r);
        for (std::size_t k = 0; k < x.size(); ++k) x[k] += correction[k];
    }
}

}  // namespace lowhiss
