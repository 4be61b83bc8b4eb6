#pragma once

#include <cmath>
#include <optional>
#include <utility>

#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// If the smallest pivot is below this ratio to the largest, the matrix is factorised again with
/// complete pivoting.
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

/// The residual of a solution and the size of the terms in each equation.
struct Residual {
    std::vector<Complex> r;     ///< b - A x, or b - A^T x
    std::vector<double> size;   ///< |b| + |A| |x|
    std::vector<double> bound;  ///< |A| times the largest unknown, in equilibrated units
};
Residual residual(const Pencil& pencil, std::span<const Complex> values, const Scaling& scaling,
                  Side side, std::span<const Complex> b, std::span<const Complex> x);

/// The largest |r| / size over the equations; not finite if the solution is not.
double strict_error(const Residual& residual);

/// The same, except that an equation whose unknowns are all rounding noise about an exact zero (in
/// a part of the circuit without signal) is measured against size + bound: Arioli, Demmel and Duff,
/// "Solving sparse linear systems with sparse backward error", SIAM J. Matrix Anal. Appl. 10
/// (1989), section 2. It is also more lenient to unknowns that are small in equilibrated units
/// without being noise, so it is used only for solutions that refinement cannot bring below the
/// limit.
double backward_error(const Residual& residual);

struct Refined {
    std::vector<Complex> x;
    double backward_error;
};

/// Solves with `solve` and refines as long as the strict error is above rounding and each step at
/// least halves it. Three more steps follow if it stays above the limit: an equation that is noise
/// about an exact zero keeps its error and hides the progress of others. Nothing if the backward
/// error stays above the limit.
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
