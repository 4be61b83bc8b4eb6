#pragma once

#include <array>
#include <vector>

#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// The second and third derivatives at rest of a function of two variables p and q.
struct Curvature {
    double pp = 0, pq = 0, qq = 0;
    double ppp = 0, ppq = 0, pqq = 0, qqq = 0;

    bool any() const;
};

/// A weighted sum of unknowns; unknown -1 is ground and adds nothing.
struct SensedVoltage {
    struct Term {
        int unknown = -1;
        double weight = 0;
    };
    std::array<Term, 2> terms{};
};

/// The terms of an element's law beyond that for small signals, up to third order, as an addition
/// to the right-hand sides: `weight` times the sum of 1/2 f_pq p q and 1/6 f_pqr p q r, or its
/// derivative by time.
struct CurvedLaw {
    int part;  ///< index into Circuit::parts
    SensedVoltage p, q;
    Curvature curvature;
    Injection into;
    bool is_charge = false;  ///< the derivative by time is added
};

/// The curved laws of a circuit for small signals about its rest, in the order of its elements:
/// those of junctions and transistors, by their exact derivatives; the diffusion charge of bipolar
/// transistors; capacitors by their loss of capacitance and their voltage coefficients; and the
/// input stage of an op-amp that slews, taken as a pair that has the op-amp's gain-bandwidth
/// product and delivers no more current than its slew rate needs, m tanh(v / m) with m = slew_rate
/// / (2 pi gain_bandwidth) (from memory; common practice for what slewing adds below its onset).
/// All other laws of amplifiers are linear.
std::vector<CurvedLaw> curved_laws(const Circuit& circuit, const OperatingPoint& rest);

}  // namespace lowhiss
