#pragma once

#include <string>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// The distance of a fit from what was measured, relative to the magnitude of that.
struct FitResidual {
    double rms = 0;
    double worst = 0;
    double worst_hz = unset;
};

/// Why data cannot be fitted, as phrases of a message.
struct FitProblem {
    std::string found;
    std::string accepted;
};

}  // namespace lowhiss
