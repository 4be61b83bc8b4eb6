#pragma once

#include <vector>

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

struct Triplet {
    int row;
    int column;
    double g;
    double c;
    const std::vector<ImpedancePoint>* measured = nullptr;  ///< -Z(f) instead of g + s c
};

/// What each element adds to the equations; ground's row and column are left out.
std::vector<Triplet> stamps_of(const Circuit& circuit);

}  // namespace lowhiss
