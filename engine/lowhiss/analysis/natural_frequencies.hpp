#pragma once

#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The finite s (rad/s) at which det(G + s C) = 0, measured impedances aside. From the eigenvalues
/// mu of (G + s0 C)^-1 C, s = s0 - 1/mu with s0 = 2 pi 1 kHz: sharpest near s0, good for finding
/// resonances in the audio band, not for margins of stability. What does not depend on frequency is
/// eliminated first, as the plan says. Empty where more than 200 unknowns are left, or no plan is.
std::vector<Complex> natural_frequencies(const Pencil& pencil, const Plan& plan);

}  // namespace lowhiss
