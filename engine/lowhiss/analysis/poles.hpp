#pragma once

#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The natural frequencies: all s (rad/s) at which det(G + s C) = 0, up to 100 GHz in magnitude,
/// those below 1 mHz only as far as they can be told from 0. Accurate over the whole range, to
/// judge stability.
///
/// They are found from eigenvalues about one s0 every second decade (roots.hpp), each of which
/// gives the s nearest to it. Each s is refined by two-sided Rayleigh quotients (Ostrowski, "On the
/// convergence of the Rayleigh quotient iteration for the computation of the characteristic roots
/// and vectors", Archive for Rational Mechanics and Analysis, 1958 to 1959); one for which these
/// diverge is left out, unless it is `growing`. The pivots of the plan that do not depend on
/// frequency are eliminated first.
///
/// `growing` has those of `s` that are right of the imaginary axis for certain. The real part must
/// be more than 1e-6 rad/s (growth by e in eleven days), more than 1e-9 |s|, and more than its
/// error. For a simple s, with x and y the vectors that the whole pencil and its transpose take to
/// zero there, rounding of the entries moves it, to first order, by at most
///   16 epsilon |y|^T (|G| + |s| |C|) |x| / |y^T C x|.
/// If that bound is of no use, as for several s at one place, the zeros of the determinant within a
/// circle right of the axis are counted by the turns of its phase along the circle, on which no
/// rounding may make the matrix singular (Rouche's theorem).
///
/// A measured impedance is replaced by the resistance and, if it is inductive, the inductance of
/// its last point. `known` is false if more than 400 unknowns are left or the plan has no program.
struct Poles {
    std::vector<Complex> s;
    std::vector<Complex> growing;
    bool known = false;
};
Poles poles_of(const Pencil& pencil, const Plan& plan);

/// Frequency in Hz and quality factor of a pole: |s| / 2 pi and |s| / (-2 Re s). The latter is
/// negative if the pole grows, and -0.5 if it is real and grows.
double pole_hz(Complex pole);
double pole_q(Complex pole);

}  // namespace lowhiss
