#pragma once

#include <span>
#include <variant>
#include <vector>

#include "lowhiss/analysis/loop_margins.hpp"
#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

// Loops: takes a network and returns the return ratio and the margins of the loop about each
// amplifier and each transistor.

/// The controlled source inside an amplifier.
struct AmplifierSource {
    int equation;  ///< of the source's law, where a test source of 1 acts
    int answer;    ///< the unknown that controls the source
    int out;       ///< node of an op-amp's output branch; -1 for a preamp IC's integrator
    double output_resistance_ohm;
};

/// The transconductance of a transistor: a current from `main` to `common`, in proportion to the
/// voltage from `control` to `common` as in the hybrid-pi circuit (Circuit's Transistor).
struct Transconductance {
    int main, control, common;
    double siemens;
};

/// A controlled source, at which a loop is opened.
struct LoopSource {
    int part;  ///< index into Circuit::parts
    std::variant<AmplifierSource, Transconductance> law;
};

/// One for each op-amp, two for each preamp IC with a bandwidth, one for each transistor that
/// amplifies: not where it is cut off, or has collector and emitter exchanged.
std::vector<LoopSource> loop_sources(const Circuit& circuit);

/// The return ratio T of a controlled source (Bode, "Network Analysis and Feedback Amplifier
/// Design", 1945, chapter 4): with the source replaced by an independent one of 1, minus the value
/// that the circuit would set it to. T is positive where the feedback is negative; the closed loop
/// has a natural frequency where 1 + T = 0. Found without opening the loop: a test source e in
/// series gives x = -T u, u = x + e. All other loops of the circuit stay closed: T of a transistor
/// is that of every loop about it together, from an emitter resistor's to the one round all stages.
/// Throws as Network::respond.
std::vector<Complex> return_ratios(Network& network, const LoopSource& source,
                                   std::span<const double> frequency_hz);
Complex return_ratio(Network& network, const LoopSource& source, double frequency_hz);

/// Searched from 0.1 Hz to 3 GHz: every crossing, by the zeros and poles of T (loop_curve.hpp),
/// each then found in the network's own T to 1e-9. If these do not describe T to a thousandth, as
/// with a measured impedance, crossings are those between ten points a decade and points at
/// `also_hz` and about each zero and pole. `stable` says whether no natural frequency grows
/// (LoopMargins). For an amplifier with two loops each margin is the lesser of the two. A
/// transistor without a margin is left out. |T| below 1e-9 counts as none. Frequencies at which the
/// equations cannot be solved reliably are skipped.
std::vector<LoopMargins> loop_margins(Network& network, bool stable,
                                      const std::vector<double>& also_hz);

}  // namespace lowhiss
