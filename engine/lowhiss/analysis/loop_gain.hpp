#pragma once

#include <string>
#include <vector>

#include "lowhiss/analysis/loop_margins.hpp"
#include "lowhiss/analysis/network.hpp"

namespace lowhiss {

/// A controlled source inside an amplifier, at which its loop is opened.
struct LoopSource {
    int part;      ///< index into Circuit::parts
    int equation;  ///< where a test source of 1 acts
    int answer;    ///< unknown that comes back
};

/// One of each op-amp, two of each preamp IC with a bandwidth.
std::vector<LoopSource> loop_sources(const Circuit& circuit);

/// The return ratio of a controlled source (Bode, "Network Analysis and Feedback Amplifier Design",
/// 1945, chapter 4): with the source taken out of the circuit's hands and set to 1, what the
/// circuit would have set it to, with its sign turned. Positive where the feedback is negative; the
/// closed loop rests where 1 + T = 0. Found without opening anything: a test source e in series
/// gives x = -T u, u = x + e. All loops of the circuit stay closed but this one. Throws as
/// Network::respond; `network` must have solved at the frequency last.
Complex return_ratio(Network& network, const LoopSource& source);

/// From 0.1 Hz to 3 GHz: looked at ten times a decade and at `also_hz`, then found by root search
/// to 1e-9. The amplifier's worst loop where it has two. Frequencies at which the equations cannot
/// be solved to a trustworthy result are left out.
std::vector<LoopMargins> loop_margins(Network& network, const std::vector<double>& also_hz);

}  // namespace lowhiss
