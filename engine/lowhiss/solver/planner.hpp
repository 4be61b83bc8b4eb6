#pragma once

#include <optional>
#include <vector>

#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

/// One entry of the matrix while it is eliminated.
struct Cell {
    int index;  ///< column of a row's cell, row of a column's
    int slot;
};

/// The matrices to be eliminated, on one pattern.
struct Samples {
    int size = 0;
    std::size_t count = 0;  ///< matrices
    std::vector<std::vector<Cell>> rows;
    std::vector<std::vector<Cell>> columns;
    std::vector<Complex> values;   ///< by slot, then sample; equilibrated
    std::vector<bool> varies;      ///< by slot
    std::vector<bool> barred_row;  ///< not to be a pivot of `once`
    std::vector<bool> barred_column;
};

/// An elimination as it was carried out, all steps in slots of the pencil and of the fill.
struct Recording {
    struct Step {
        int row;
        int column;
        int pivot;                ///< slot
        std::vector<Cell> lower;  ///< by row
        std::vector<Cell> upper;  ///< by column
    };
    std::vector<Step> steps;
    std::vector<int> targets;  ///< by step, lower cell, upper cell
    std::size_t once_steps = 0;
    int once_slots = 0;
    int slots = 0;
};

/// Eliminates the samples by Markowitz's rule. Pivots for `once` come first, as long as their
/// product of other entries is at most `dearest_once`. Nothing where no pivot is left, or more
/// operations are needed than a program may have.
std::optional<Recording> eliminate(Samples samples, double dearest_once);

}  // namespace lowhiss
