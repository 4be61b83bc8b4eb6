#pragma once

#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

/// The finite s (rad/s) at which det(G + s C) = 0, without measured impedances, from the
/// eigenvalues mu of (G + s0 C)^-1 C: s = s0 - 1/mu with s0 = 2 pi 1 kHz. Most accurate near s0:
/// sufficient to find resonances in the audio band, not to judge stability (see poles.hpp). The
/// pivots of the plan that do not depend on frequency are eliminated first. Empty if more than 200
/// unknowns are left or the plan has no program.
std::vector<Complex> natural_frequencies(const Pencil& pencil, const Plan& plan);

}  // namespace lowhiss
