#pragma once

#include <string>
#include <vector>

#include "lowhiss/analysis/rolloff.hpp"

namespace lowhiss {

/// The bass loss of one part, by its name.
struct PartRolloff {
    std::string part;
    Rolloff rolloff;
};

/// The causes of the loss of bass at one frequency, by name.
struct PartBassLoss {
    double frequency_hz = unset;
    double total_db = unset;          ///< gain at 1 kHz over that at the frequency
    std::vector<PartRolloff> causes;  ///< as BassLoss has them
    double together_db = 0;
    double most_alone_db = 0;

    /// Whether no single part explains half of the loss.
    bool interact() const { return most_alone_db < total_db / 2; }
};

}  // namespace lowhiss
