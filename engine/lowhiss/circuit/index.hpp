#pragma once

#include <cstddef>

namespace lowhiss {

/// The number of a node, unknown, equation or slot, which is an int, as index of a container.
inline std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

/// The number of a node's voltage among the unknowns, and of its current law among the equations;
/// -1 for ground, which has neither.
constexpr int at_node(int node) {
    return node - 1;
}

}  // namespace lowhiss
