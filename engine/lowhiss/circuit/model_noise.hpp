#pragma once

#include "lowhiss/board/model.hpp"

namespace lowhiss {

/// The circuit for which the noise of a model is computed.
struct ModelUse {
    double source_ohm = 0;     ///< between one input and ground; another input is at ground
    double gain = unset;       ///< of a preamp IC, as a ratio
    double current_a = unset;  ///< of a collector or drain
    double temperature_k = 293.15;
};

/// sqrt(4kTR), in V/rtHz.
double thermal_noise_v_rthz(double ohm, double temperature_k);

// The noise of a model at its input with a source of resistance R, that of the resistance included,
// in V/rtHz at f = 1 kHz, without capacitances:
//
//     e^2 (1 + fe / f) + i^2 (1 + fi / f) R^2 + 4kTR
//
// with the densities e and i and the corners fe and fi of the sources of voltage and current noise
// at that input (Rothe and Dahlke, "Theory of noisy fourpoles", Proceedings of the IRE 44, 1956,
// without correlation; the law of each source is that of circuit.hpp). Unset if the model leaves
// out a density that is needed, or the use a gain or current.

/// The formula above; the feedback network is taken to be noiseless.
double noise_with_source(const OpAmpModel& model, const ModelUse& use);

/// The noise of the output stage, over the gain, adds to e. The gain must be the model's least or
/// more. The resistor that sets the gain is taken to be noiseless.
double noise_with_source(const PreampIcModel& model, const ModelUse& use);

/// In a common-emitter stage, with r = kT / (q Ic), the resistances Rb of the base and Re of the
/// emitter, S = R + Rb + Re and the current gain B:
///
///     4kT S + 2q Ic (r + S / B)^2 + 2q Ic / B (1 + fi / f) S^2
///
/// The shot noise of the collector is 2q Ic at the output; it is referred to the input by the
/// hybrid-pi model. Needs the current.
double noise_with_source(const BipolarModel& model, const ModelUse& use);

/// In a common-source stage in saturation. If the model leaves out the voltage noise, e^2 is
/// 4kT 2/3 / g with g = 2 sqrt(Idss Id) / Vp (van der Ziel, "Thermal noise in field-effect
/// transistors", Proceedings of the IRE 50, 1962) and needs the current; i^2 is 2q times the gate
/// current.
double noise_with_source(const JfetModel& model, const ModelUse& use);

}  // namespace lowhiss
