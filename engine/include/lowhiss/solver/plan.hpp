#pragma once

#include <optional>
#include <span>
#include <vector>

#include "lowhiss/equations/pencil.hpp"

namespace lowhiss {

using Complex = std::complex<double>;

/// Powers of two that bring the largest entry of each row and column of A near 1.
struct Scaling {
    std::vector<double> row;
    std::vector<double> column;
};

/// Gaussian elimination of one sparsity pattern, written out. A's values stand in slots, those of
/// the pencil first, then the fill. Step k takes one pivot:
///
///   r = 1 / pivot                                 row_of[k], column_of[k], pivot[k]
///   for each row i below:      l = a(i,k) r       lower[lower_start[k] ...]
///     for each u(k,j) right:   a(i,j) -= l u(k,j) targets, in the same order
struct Program {
    struct Entry {
        int slot;
        int index;  ///< row of a lower entry, column of an upper one
    };

    int slots = 0;
    std::vector<int> pivot;
    std::vector<int> row_of;
    std::vector<int> column_of;
    std::vector<int> lower_start;  ///< size + 1
    std::vector<Entry> lower;
    std::vector<int> upper_start;  ///< size + 1
    std::vector<Entry> upper;
    std::vector<int> targets;  ///< slot of a(i,j), by step, row, column
};

/// What is found out once and used for every frequency: how to scale, and in which order to
/// eliminate. Valid for every pencil of the same pattern; how well its pivots suit other values is
/// checked by the backward error of each solution.
struct Plan {
    int size = 0;
    Scaling scaling;
    std::optional<Program> program;  ///< none for large equations and where no pivot was found
};

/// Chooses pivots that are small in fill (Markowitz 1957: the product of the other entries in row
/// and column) among those that are at least a twentieth of the largest in their column at 20 Hz,
/// 1 kHz and 50 kHz alike. Cost n^3; no program above 200 unknowns.
Plan make_plan(const Pencil& pencil);

Scaling equilibrate(const Pencil& pencil, std::span<const Complex> values);

}  // namespace lowhiss
