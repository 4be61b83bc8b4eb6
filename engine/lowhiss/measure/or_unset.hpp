#pragma once

#include <cmath>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// A figure that is not finite does not exist.
inline double or_unset(double figure) {
    return std::isfinite(figure) ? figure : unset;
}

}  // namespace lowhiss
