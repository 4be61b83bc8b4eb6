#pragma once

#include <string>
#include <vector>

#include "lowhiss/analysis/loop_margins.hpp"
#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

// Loops: gets a network, gives the return ratio and the margins of each amplifier's loop.

/// A controlled source inside an amplifier, at which its loop is opened.
struct LoopSource {
    int part;      ///< index into Circuit::parts
    int equation;  ///< of the source's law, where a test source of 1 acts
    int answer;    ///< the unknown that controls the source
    int out;       ///< node of an op-amp's output branch; -1 for a preamp IC's integrator
    double output_resistance_ohm;
};

/// One for each op-amp, two for each preamp IC with a bandwidth.
std::vector<LoopSource> loop_sources(const Circuit& circuit);

/// The return ratio T of a controlled source (Bode, "Network Analysis and Feedback Amplifier
/// Design", 1945, chapter 4): with the source replaced by an independent one of 1, minus the value
/// that the circuit would set it to. T is positive where the feedback is negative; the closed loop
/// has a natural frequency where 1 + T = 0. Found without opening the loop: a test source e in
/// series gives x = -T u, u = x + e. All other loops of the circuit stay closed. Throws as
/// Network::respond; `network` must have solved at the frequency last.
Complex return_ratio(Network& network, const LoopSource& source);

/// Searched from 0.1 Hz to 3 GHz: ten points a decade and `also_hz`, refined by root search to
/// 1e-9. An amplifier with two loops gives the one with the lower phase margin. Frequencies at
/// which the equations cannot be solved reliably are skipped.
std::vector<LoopMargins> loop_margins(Network& network, const std::vector<double>& also_hz);

}  // namespace lowhiss
