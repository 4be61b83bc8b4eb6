#pragma once

#include <vector>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/equations/pencil.hpp"

namespace lowhiss {

/// The contributions of all elements; the row and column of ground are left out.
std::vector<Triplet> stamps_of(const Circuit& circuit);

/// Appends those of one element.
void stamp(const Element& element, std::vector<Triplet>& triplets);

/// Adds up contributions to the same place.
Pencil pencil_of(int size, std::vector<Triplet> triplets);

}  // namespace lowhiss
