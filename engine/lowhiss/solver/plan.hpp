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

/// Slots in groups, one group a step.
struct SlotGroups {
    std::vector<int> start{0};  ///< of each step, and the end
    std::vector<int> slots;

    std::span<const int> of(std::size_t step) const {
        return {slots.data() + start[step], slots.data() + start[step + 1]};
    }
    void end_step() { start.push_back(static_cast<int>(slots.size())); }
};

/// Gaussian elimination written out, one pivot a step:
///
///   for each row i below:      l(i,k) = a(i,k) / pivot    lower
///     for each u(k,j) right:   a(i,j) -= l(i,k) u(k,j)    targets, in the same order
///   u(k,j) /= pivot                                       upper
struct Elimination {
    std::vector<int> pivot;
    SlotGroups lower;
    SlotGroups upper;
    std::vector<int> targets;
};

/// values[to] -= (what stands in the slot) values[from]
struct Term {
    int to;
    int from;
    int slot;
};

/// Substitution with one triangle of the factors, term by term, in the order in which values become
/// final. On the way forward `once` comes first, on the way back `each`.
struct Triangle {
    std::vector<Term> once;
    std::vector<Term> each;
};

/// A = L D U of one sparsity pattern, rows and columns in the order of the steps, L and U with ones
/// on their diagonals. The elimination is in two parts, by what the entries are like:
///
/// `once`: pivots that do not depend on frequency, in a row or a column that does not either. What
/// is left is linear in s, as A was, and so are these rows of U and columns of L: real arithmetic
/// on (g, c), for all frequencies. Slots are those of the pencil, then the fill.
///
/// `each`: the other pivots, in complex numbers at each frequency. Slots are numbered anew in the
/// order of their use, so that a frequency needs room only for what depends on it.
struct Program {
    std::vector<int> row_of;  ///< of each step
    std::vector<int> column_of;

    int once_slots = 0;
    Elimination once;

    int slots = 0;
    std::vector<int> origin;  ///< of each slot: the slot of `once` that it begins with, -1: zero
    Elimination each;

    Triangle lower;             ///< L, forward
    Triangle upper;             ///< U, back
    Triangle lower_transposed;  ///< L^T, back
    Triangle upper_transposed;  ///< U^T, forward

    std::size_t once_steps() const { return once.pivot.size(); }
    std::size_t steps() const { return row_of.size(); }
};

/// What is found out once and used for every frequency: how to scale, and in which order to
/// eliminate. Valid for every pencil that it fits; how well its pivots suit other values is checked
/// by the backward error of each solution.
struct Plan {
    int size = 0;
    Scaling scaling;
    std::vector<bool> varies;        ///< of each slot of the pencil: it may depend on frequency
    std::optional<Program> program;  ///< none where no pivot was found, or too many operations
};

/// Chooses pivots that are small in fill (Markowitz, "The elimination form of the inverse and its
/// application to linear programming", Management Science 3, 1957: the product of the other
/// entries in row and column) among those that are at least a twentieth of the largest in their
/// column, in every pencil at 20 Hz, 1 kHz and 50 kHz alike. The pencils share one pattern and
/// differ in values, as a board does from knob position to knob position. Cost: as of three
/// factorisations a pencil.
Plan make_plan(std::span<const Pencil* const> pencils);
Plan make_plan(const Pencil& pencil);

/// Whether the pencil has the pattern of those that the plan was made for.
bool fits(const Plan& plan, const Pencil& pencil);

/// The entries of G + s C that are left when the plan's `once` is done, numbered by step from the
/// first of `each`: its determinant is that of the pencil but for a factor without s. The plan has
/// a program and fits.
struct RemainingEntry {
    int row;
    int column;
    double g;
    double c;
};
std::vector<RemainingEntry> remaining_entries(const Plan& plan, const Pencil& pencil);

Scaling equilibrate(const Pencil& pencil, std::span<const Complex> values);

}  // namespace lowhiss
