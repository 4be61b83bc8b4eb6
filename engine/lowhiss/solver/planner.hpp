#pragma once

#include <optional>
#include <vector>

#include "lowhiss/solver/plan.hpp"

namespace lowhiss {

// Planner: takes sample matrices on one pattern and returns an elimination as it was carried out on
// them, from which `make_plan` writes the program (see plan.hpp).

/// One entry of the matrix during elimination.
struct Cell {
    int index;  ///< the column of a cell in a row, the row of a cell in a column
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
    std::vector<bool> barred_row;  ///< may not give a pivot for `once`
    std::vector<bool> barred_column;
};

/// An elimination as it was carried out, in slots of the pencil and of the fill.
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
/// Markowitz product is at most `dearest_once`. Nothing if no pivot is left or more operations are
/// needed than a program may have.
std::optional<Recording> eliminate(Samples samples, double dearest_once);

}  // namespace lowhiss
