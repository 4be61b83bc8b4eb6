#pragma once

#include <cstddef>

namespace lowhiss {

/// An index of the equations, which is an int as in Eigen, as one of a standard container.
inline std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

}  // namespace lowhiss
