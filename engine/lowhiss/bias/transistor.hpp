#pragma once

#include "lowhiss/bias/transistor_region.hpp"
#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// The currents of a transistor in its own sense (npn, n-channel): into `main` and `control` in
/// ampere, and their slopes in siemens by v = v(control) - v(common) and w = v(control) - v(main).
/// The insulation is included, `leak_a` is not.
struct TransistorCurrents {
    double main_a, control_a;
    double main_by_common, main_by_main;
    double control_by_common, control_by_main;
};

/// The laws of circuit.hpp with their exact derivatives. Accurate to rounding.
TransistorCurrents currents_of(const Transistor& transistor, double v, double w);

/// A bipolar transistor counts as saturated if this fraction of its current flows back through the
/// base-collector junction.
inline constexpr double saturated_part = 0.05;

/// A transistor is reversed where its collector and emitter have changed roles, a JFET where it is
/// in saturation from the other end.
TransistorRegion region_of(const Transistor& transistor, double v, double w);

/// Mean square density of a transistor's noise at rest in A^2/Hz, by its mechanism: 2q times the
/// size of the collector or the base current. For the channel, with z = (w + Vp) / (v + Vp) from 0
/// in saturation to 1 without a drain voltage and g the transconductance that saturation would
/// give, 4kT 2/3 g (1 + z + z^2) / (1 + z): 4kT times the conductance at z = 1 (van der Ziel,
/// "Thermal noise in field-effect transistors", Proceedings of the IRE 50, 1962, for the square
/// law). With `source.channel_v2_hz` set, 4kT 2/3 g is that times g^2.
double transistor_noise_a2_hz(const Transistor& transistor, const NoiseSource& source,
                              Mechanism mechanism, double v, double w, double temperature_k);

}  // namespace lowhiss
