#pragma once

#include <memory>
#include <string>
#include <vector>

#include "lowhiss/analysis/loop_margins.hpp"

namespace lowhiss {

struct Circuit;
struct Plan;

/// A natural frequency of the circuit; of a complex pair the one.
struct NaturalMode {
    double frequency_hz = unset;
    double q = unset;  ///< negative where it grows
};

struct Stability {
    bool known = false;  ///< false: too many unknowns to tell
    bool stable = true;
    double grows_hz = unset;         ///< of what grows, the natural frequency of the fastest
    std::vector<NaturalMode> modes;  ///< complex pairs, sharpest first
    std::vector<LoopMargins> loops;  ///< one an amplifier
    std::vector<std::string> loop_parts;

    /// The loop of least phase margin; null where no loop has a crossover.
    const LoopMargins* worst_loop() const;

    /// What grows, else the sharpest above 20 kHz: below there are the capsule's own resonances.
    /// Null where there is none.
    const NaturalMode* sharpest() const;
};

/// Of a circuit for small signals. Beyond the range of a measured capsule its impedance counts as
/// that at the end of the range, for loops cross over far above it. Without a plan it makes one.
Stability stability_of(Circuit circuit, const std::shared_ptr<const Plan>& plan);

}  // namespace lowhiss
