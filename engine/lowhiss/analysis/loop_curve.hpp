#pragma once

#include <optional>
#include <vector>

#include "lowhiss/analysis/loop_gain.hpp"

namespace lowhiss {

// Loop curve: takes the zeros and poles of a return ratio and returns every frequency at which its
// magnitude is 1, or at which it is real and negative.

/// ln T(s) = ln_factor + sum of ln(s - zero) - sum of ln(s - pole).
struct LoopCurve {
    std::vector<Complex> zeros;
    std::vector<Complex> poles;
    Complex ln_factor;

    /// At s = j omega; the imaginary part up to a multiple of 2 pi.
    Complex ln_t(double omega) const;
    /// d ln T / d ln omega.
    Complex slope(double omega) const;
    /// An upper bound of |d^2 ln T / d (ln omega)^2| between two values of omega.
    double bend(double low, double high) const;
};

/// A range of ln omega with one crossing.
struct CrossingRange {
    double low;
    double high;
};

/// Found by halving ranges. By the slope in its middle and the largest bend within it, a range is
/// finished when it can have no crossing, or when the curve is monotonic there and so has at most
/// one crossing, which the values at the ends show. No crossing is missed, unless two are within
/// 1e-11 of each other in ln omega.
struct CrossingRanges {
    std::vector<CrossingRange> gain;   ///< |T| = 1
    std::vector<CrossingRange> phase;  ///< T real and negative
};
CrossingRanges crossings_of(const LoopCurve& curve, double low_omega, double high_omega);

/// The angle of T beyond 180 degrees, in radians, into [-pi, pi]: zero where T is real and
/// negative.
double beyond_half_turn(double angle_rad);

/// The zeros and poles of T = det A / det A0 - 1, A0 being the matrix without the source's entry:
/// the roots of the pencil without its row and column, and of the pencil without it. A
/// transconductance has four entries: for it T = gm b^T A0^-1 a, whose zeros are those of the
/// bordered matrix [A0 a; b^T 0]. The factor is left to the caller. A plan of the pencil saves
/// making one. Measured impedances are held (roots.hpp). Nothing if the roots are not known.
std::optional<LoopCurve> loop_curve(const Pencil& pencil, const Plan* plan,
                                    const LoopSource& source);

}  // namespace lowhiss
