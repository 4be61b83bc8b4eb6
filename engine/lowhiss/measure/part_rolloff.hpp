#pragma once

#include <string>

#include "lowhiss/analysis/rolloff.hpp"

namespace lowhiss {

/// The bass loss of one capacitor, by its part's name.
struct PartRolloff {
    std::string part;
    Rolloff rolloff;
};

}  // namespace lowhiss
