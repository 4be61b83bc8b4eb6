#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/analysis/loop_margins.hpp"

namespace lowhiss {

struct Circuit;
struct Plan;

/// A natural frequency of the circuit: one of a complex pair.
struct NaturalMode {
    double frequency_hz = unset;
    double q = unset;  ///< negative where the oscillation grows
};

struct Stability {
    bool known = false;  ///< false: the circuit has too many unknowns to say
    bool stable = true;
    double grows_hz = unset;              ///< frequency of the fastest growing oscillation
    std::vector<NaturalMode> modes;       ///< complex pairs, sharpest first
    std::vector<LoopMargins> loops;       ///< one for each amplifier
    std::vector<std::string> loop_parts;  ///< their names

    /// The loop with the lowest phase margin; null where no loop has a crossover.
    const LoopMargins* worst_loop() const;

    /// The fastest growing oscillation; otherwise the sharpest resonance above 20 kHz, for below
    /// there are the capsule's own. Null where there is none.
    const NaturalMode* sharpest() const;
};

/// The stability of a small-signal circuit. Outside its measured range a capsule keeps the
/// impedance of the range's end, because loops cross over far above it. A null plan is made here.
Stability stability_of(Circuit circuit, const std::shared_ptr<const Plan>& plan);

}  // namespace lowhiss
