#pragma once

#include <optional>
#include <span>
#include <vector>

#include "lowhiss/equations/pencil.hpp"

namespace lowhiss {

// The plan: takes pencils of one pattern and returns the program by which `Solver` solves such
// pencils at any frequency.
//
// Problem. A sweep solves (G + s C) x = b and (G + s C)^T y = c at hundreds of frequencies and
// several knob positions, and a tolerance run does so for thousands of boards. Their matrices share
// one pattern. So the order of elimination is chosen once for the pattern; what does not depend on
// frequency is computed once for the values; only the rest is computed at each frequency.
//
// Derivation. Gaussian elimination with the pivot a(k,l) replaces the other entries by
//
//     a(i,j) - a(i,l) a(k,j) / a(k,l).
//
// All entries are linear in s at the beginning. If the pivot does not depend on s, nor does the
// rest of its row or the rest of its column, then at most one of the factors depends on s, and the
// result is linear in s again. Such pivots are eliminated first, in real arithmetic on the pairs
// (g, c) and for all frequencies together: they are the part `once` of the program. What is left of
// A, its Schur complement S(s) = S_g + s S_c, is eliminated in complex arithmetic at each
// frequency: the part `each`. In the order of the pivots:
//
//                 once     each
//              +--------+--------+
//              | D \  U |        |
//        once  |   D \  |   U    |    P A(s) Q = L D U
//              | L   D  |        |
//              +--------+--------+    D of `once` does not depend on s; L and U there are linear
//              |        |        |    in s and computed once, as is S(s); S(s) is evaluated and
//        each  |   L    |  S(s)  |    factorised at each frequency
//              |        |        |
//              +--------+--------+
//
// det A(s) is det S(s) times a constant, so that the natural frequencies of A are those of S.
//
// A pivot for `once` makes S smaller but may fill it in. Several limits on the fill of such pivots
// are tried, and the program with the least estimated work per frequency is kept.
//
// Requirements. All pencils of a plan have one pattern (`fits`). An entry with c != 0 in a pencil
// that is solved must have had c != 0 in one that the plan was made from. Measured impedances are
// not linear in s, so their rows and columns give no pivots for `once`. Pivots are chosen by the
// values of the pencils at three frequencies and are kept for other values: how well they suit is
// not known beforehand. The solvers that run a program therefore measure the backward error of
// every solution against the pencil itself, and leave bad ones to the pivoting reference path.

using Complex = std::complex<double>;

/// Powers of two that bring the largest entry of each row and column of A near 1.
struct Scaling {
    std::vector<double> row;
    std::vector<double> column;
};

/// Slots in groups, one group per step.
struct SlotGroups {
    std::vector<int> start{0};  ///< of each step, and the end
    std::vector<int> slots;

    std::span<const int> of(std::size_t step) const {
        return {slots.data() + start[step], slots.data() + start[step + 1]};
    }
    void end_step() { start.push_back(static_cast<int>(slots.size())); }
};

/// Gaussian elimination as lists of slots, one pivot per step:
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

/// values[to] -= slots[slot] values[from]
struct Term {
    int to;
    int from;
    int slot;
};

/// Substitution with one triangular factor, term by term, in the order in which values become
/// final. Forward substitution runs `once` first, back substitution `each`.
struct Triangle {
    std::vector<Term> once;
    std::vector<Term> each;
};

/// The factorisation P A Q = L D U of one pattern, L and U with ones on their diagonals. Slots of
/// `once` are those of the pencil, then the fill. Slots of `each` are numbered anew in the order of
/// their use, so that a frequency needs memory only for S(s).
struct Program {
    std::vector<int> row_of;  ///< of each step
    std::vector<int> column_of;

    int once_slots = 0;
    Elimination once;

    int slots = 0;
    std::vector<int> origin;  ///< of each slot: the slot of `once` with its value; -1 for zero
    Elimination each;

    Triangle lower;             ///< L, forward
    Triangle upper;             ///< U, back
    Triangle lower_transposed;  ///< L^T, back
    Triangle upper_transposed;  ///< U^T, forward

    std::size_t once_steps() const { return once.pivot.size(); }
    std::size_t steps() const { return row_of.size(); }
};

/// Scaling and elimination order, for every pencil that it fits.
struct Plan {
    int size = 0;
    Scaling scaling;
    std::vector<bool> varies;        ///< of each slot of the pencil: it may depend on frequency
    std::optional<Program> program;  ///< none if no pivot was found or it would be too long
};

/// Chooses pivots of little fill (Markowitz, "The elimination form of the inverse and its
/// application to linear programming", Management Science 3, 1957: the least product of the numbers
/// of other entries in row and column) among those that are at least a twentieth of the largest
/// entry of their column, in every pencil at 20 Hz, 1 kHz and 50 kHz. The pencils share one pattern
/// and differ in values, as those of one board at several knob positions do. Cost: about three
/// factorisations per pencil.
Plan make_plan(std::span<const Pencil* const> pencils);
Plan make_plan(const Pencil& pencil);

/// A plan for `remaining_entries` alone: the first that leaves a small S(s), whatever its work per
/// frequency. It is made in a sixth of the time of `make_plan`.
Plan plan_for_roots(const Pencil& pencil);

/// Whether the pencil has the pattern of those that the plan was made from.
bool fits(const Plan& plan, const Pencil& pencil);

/// The entries of S(s), numbered by step from the first of `each`: its determinant is that of the
/// pencil up to a factor without s. The plan must have a program and fit.
struct RemainingEntry {
    int row;
    int column;
    double g;
    double c;
};
std::vector<RemainingEntry> remaining_entries(const Plan& plan, const Pencil& pencil);

Scaling equilibrate(const Pencil& pencil, std::span<const Complex> values);

}  // namespace lowhiss
