#pragma once

#include <span>
#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

/// The output voltage that is left when the circuit comes to rest by itself: the sum of residues
/// times e^(s t) over its natural frequencies s.
struct Relaxation {
    std::vector<Complex> s;                     ///< in rad/s, up to 1e9 in magnitude
    std::vector<std::vector<Complex>> residue;  ///< in volt, by start, then by s
};

/// From (G + sC) X = C x0: a start is the vector C x0, the charges and fluxes at the beginning, and
/// `select` the c of the output c^T x. With one s0 = 2 pi 1 Hz, K = (G + s0 C)^-1, F = K times the
/// columns of C that are not empty and P their selection, N = P^T F has the eigenvalues mu = 1/(s0
/// - s). With its eigenvectors u, and z the rows of their inverse, the residue is
///   (c^T F u) (z P^T K C x0) / mu^2.
/// Several equal natural frequencies, as the two legs of a balanced circuit have, need no care.
/// A measured impedance is the resistance that it has at the low end of its table. Empty if there
/// are more than 1000 unknowns, or more than 300 columns of C that are not empty.
///
/// Accurate for natural frequencies up to some 100 kHz, to judge what is heard.
Relaxation relaxation(const Pencil& pencil, std::span<const Complex> select,
                      std::span<const std::vector<double>> starts);

}  // namespace lowhiss
