#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "lowhiss/equations/pencil.hpp"
#include "lowhiss/solver/solver.hpp"

namespace lowhiss {

// Roots: takes a pencil and returns the s at which det(G + s C) = 0 as eigenvalues, not yet
// refined.

/// G and C as dense matrices.
struct DensePencil {
    Eigen::MatrixXd g;
    Eigen::MatrixXd c;
};

/// The rest of the pencil when the pivots of its plan that do not depend on frequency are
/// eliminated. The plan must have a program and fit.
DensePencil remaining_pencil(const Plan& plan, const Pencil& pencil);

/// All of the pencil.
DensePencil whole_pencil(const Pencil& pencil);

/// The pencil with measured impedances replaced by the resistance and, if inductive, the inductance
/// of their last point.
Pencil with_held_impedances(const Pencil& pencil);

/// Rows and columns multiplied by powers of two, so that at s0 the largest entry of each is near
/// one. The roots stay the same.
DensePencil scaled_at(DensePencil m, double s0);

/// The roots with a magnitude from `low` to `high`, of each conjugate pair the upper one, and the
/// pencil scaled at s0, on which they can be refined. They follow from the eigenvalues mu = 1/(s0 -
/// s) of (G + s0 C)^-1 C, balanced (Parlett and Reinsch, "Balancing a matrix for calculation of
/// eigenvalues and eigenvectors", Numerische Mathematik 13, 1969): best near s0. If s0 is a root to
/// the last digit, another is tried. Nothing if the equations are singular for every s.
struct NearRoots {
    DensePencil scaled;
    std::vector<Complex> s;
};
std::optional<NearRoots> roots_near(const DensePencil& pencil, double s0, double low, double high);

/// All roots up to 1 THz, conjugates included, good to about six digits: enough to know where a
/// curve bends. Measured impedances are held. Nothing if the equations are singular for every s or
/// more than 200 unknowns depend on frequency. A plan that fits saves making one, unless one of its
/// pivots is zero here.
std::optional<std::vector<Complex>> rough_roots(const Pencil& pencil, const Plan* plan = nullptr);

}  // namespace lowhiss
