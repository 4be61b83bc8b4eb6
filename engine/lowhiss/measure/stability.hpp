#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/analysis/loop_margins.hpp"

namespace lowhiss {

struct Circuit;
struct Plan;
class Setting;

/// A natural frequency of the circuit: one of a complex pair, or a real one that grows.
struct NaturalMode {
    double frequency_hz = unset;  ///< |s| / 2 pi
    double q = unset;             ///< |s| / (-2 Re s): negative where it grows, -0.5 if it is real
};

struct Stability {
    bool known = false;  ///< false: the circuit has too many unknowns to say
    bool stable = true;

    /// The natural frequency that grows fastest. A real one does not ring: the circuit latches up,
    /// every e-fold in the time 1 / s.
    double grows_hz = unset;
    bool latches = false;
    double latch_time_s = unset;

    std::vector<NaturalMode> modes;       ///< complex pairs and growing real ones, sharpest first
    std::vector<LoopMargins> loops;       ///< one for each amplifier
    std::vector<std::string> loop_parts;  ///< their names

    /// The loop with the lowest phase margin; null where no loop has a crossover.
    const LoopMargins* worst_loop() const;

    /// The mode that latches up or oscillates; otherwise the sharpest resonance above 20 kHz, since
    /// those below may be the capsule's own. Null if there is none.
    const NaturalMode* sharpest() const;
};

/// For an unstable circuit: "oscillates at 1.948 MHz" or "latches up with a time constant of 80
/// ns".
std::string instability_text(const Stability& stability);

/// The stability of a small-signal circuit. Outside its measured range a capsule keeps the
/// impedance of the range's end, because loops cross over far above it. If `plan` is null, one is
/// made.
Stability stability_of(Circuit circuit, const std::shared_ptr<const Plan>& plan);

/// The least |T| of all amplifiers' loops, in dB; unset without a loop. Throws as Network::respond.
double loop_gain_db(Setting& setting, double frequency_hz);

}  // namespace lowhiss
