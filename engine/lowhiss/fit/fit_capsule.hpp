#pragma once

#include <complex>
#include <variant>
#include <vector>

#include "lowhiss/board/model.hpp"
#include "lowhiss/fit/fit_result.hpp"
#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

struct CapsuleFit {
    DynamicCapsule capsule;
    FitResidual residual;
    std::vector<ImpedancePoint> points;  ///< of the band: what was fitted
};

/// R + sL + sum of R_m / (1 + Q (s/w0 + w0/s)), in ohm.
std::complex<double> impedance_of(const DynamicCapsule& capsule, double frequency_hz);

/// The dynamic capsule whose impedance is nearest to the points of the band: by least squares of
/// the relative error of the complex impedance. Resonances are added one after the other, up to
/// three, while the rms error is above 0.05 % and there are points enough; they are kept if they
/// lower it by a quarter or more. Figures are rounded to four digits, and the residual is that of
/// the rounded ones. An inductance that changes no impedance of the band by 0.1 % is 0.
///
/// A problem: fewer than 8 points in the band, or an impedance that is off by more than 10 % rms or
/// 30 % at its worst even so, as that of a condenser capsule is.
std::variant<CapsuleFit, FitProblem> fit_capsule(const std::vector<ImpedancePoint>& points,
                                                 Band band);

}  // namespace lowhiss
