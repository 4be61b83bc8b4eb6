#pragma once

#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The s (rad/s) at which det(G + s C) = 0, from 1 mHz to 100 GHz in magnitude, and those below as
/// far as they can be told from 0; sharp over the whole range, good for telling stable from not.
///
/// Eigenvalues mu = 1/(s0 - s) of (G + s0 C)^-1 C, balanced (Parlett and Reinsch, "Balancing a
/// matrix for calculation of eigenvalues and eigenvectors", Numerische Mathematik 13, 1969), for
/// one s0 every second decade, each asked for what is nearest to it; then each s sharpened by
/// two-sided Rayleigh quotients (Ostrowski 1959), unless these wander off. What does not depend on
/// frequency is eliminated first, as the plan says.
///
/// A measured impedance counts as the resistance and, where it is inductive, the inductance of its
/// last point. Nothing (not an empty list) where more than 400 unknowns are left, or no plan is.
struct Poles {
    std::vector<Complex> s;
    bool known = false;
};
Poles poles_of(const Pencil& pencil, const Plan& plan);

/// Growing: to the right of the axis by more than rounding.
bool grows(Complex pole);

/// Frequency in Hz and quality of a pole: |s| / 2 pi and |s| / (-2 Re s); negative where it grows.
double pole_hz(Complex pole);
double pole_q(Complex pole);

}  // namespace lowhiss
