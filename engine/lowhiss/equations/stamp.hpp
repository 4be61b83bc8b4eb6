#pragma once

#include <vector>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/equations/pencil.hpp"

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

/// One element's part of it.
void stamp(const Element& element, std::vector<Triplet>& triplets);

/// A matrix of these, slot by slot.
Pencil pencil_of(int size, std::vector<Triplet> triplets);

}  // namespace lowhiss
