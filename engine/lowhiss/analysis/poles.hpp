#pragma once

#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The natural frequencies: all s (rad/s) at which det(G + s C) = 0, up to 100 GHz in magnitude,
/// those below 1 mHz only as far as they can be told from 0. Accurate over the whole range, to
/// judge stability.
///
/// From the eigenvalues mu = 1/(s0 - s) of (G + s0 C)^-1 C, balanced (Parlett and Reinsch,
/// "Balancing a matrix for calculation of eigenvalues and eigenvectors", Numerische Mathematik 13,
/// 1969), for one s0 every second decade, of which each gives the s nearest to it. Each s is then
/// refined by two-sided Rayleigh quotients (Ostrowski 1959), unless these diverge. The pivots of
/// the plan that do not depend on frequency are eliminated first.
///
/// A measured impedance is replaced by the resistance and, if it is inductive, the inductance of
/// its last point. Not `known` if more than 400 unknowns are left or the plan has no program.
struct Poles {
    std::vector<Complex> s;
    bool known = false;
};
Poles poles_of(const Pencil& pencil, const Plan& plan);

/// Whether the oscillation grows: the pole is right of the imaginary axis by more than rounding.
bool grows(Complex pole);

/// Frequency in Hz and quality factor of a pole: |s| / 2 pi and |s| / (-2 Re s), the latter
/// negative if the oscillation grows.
double pole_hz(Complex pole);
double pole_q(Complex pole);

}  // namespace lowhiss
