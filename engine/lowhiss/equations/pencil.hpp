#pragma once

#include <complex>
#include <span>
#include <utility>
#include <vector>

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

// Equations: takes a circuit and returns its nodal equations A(s) x = b with A(s) = G + s C, G and
// C real and sparse. An EMF e at node 1, R1 from node 1 to node 2 and a capacitance C from node 2
// to ground have two node voltages and, for the law of the EMF, its current i as unknowns:
//
//            v1     v2         i
//   node 1 [ 1/R1  -1/R1       1 ] [v1]   [ 0 ]
//   node 2 [-1/R1   1/R1 + sC  0 ] [v2] = [ 0 ]
//   EMF    [ 1      0          0 ] [i ]   [ e ]

/// One contribution to the matrix.
struct Triplet {
    int row;
    int column;
    double g;
    double c;
    const std::vector<ImpedancePoint>* measured = nullptr;  ///< -Z(f) instead of g + s c
    /// Contributions of one value, as the four of a conductance, have the same number here; 0
    /// stands for a value of its own.
    int tie = 0;
};

/// G and C on one pattern, by columns. In the example, where the EMF keeps a slot for its
/// resistance of 0: column_start = 0 3 5 7, row = 0 1 2 0 1 0 2, g = 1/R1 -1/R1 1 -1/R1 1/R1 1 0
/// and c = 0 0 0 0 C 0 0.
///
/// A measured impedance is a complex -Z(f) on the diagonal of its own law, listed apart.
struct Pencil {
    struct Measured {
        int slot;
        const std::vector<ImpedancePoint>* points;
    };

    /// A sum that is small beside its terms, as when a controlled source cancels most of a
    /// conductance, and bounds on the rounding errors of its `g` and `c`.
    struct Cancelled {
        int row;
        int column;
        double g;
        double c;
    };

    int size = 0;
    std::vector<int> column_start;  ///< size + 1
    std::vector<int> row;           ///< of each slot, ascending in a column
    std::vector<double> g;          ///< of each slot
    std::vector<double> c;          ///< of each slot
    std::vector<Measured> measured;
    /// The terms of the sums in `g` and `c`, in the order of the slots. The sums are rounded, their
    /// terms are not.
    std::vector<Triplet> stamps;
    std::vector<Cancelled> cancelled;

    int slots() const { return static_cast<int>(row.size()); }
};

/// Stamps every element. The pattern depends on the structure alone: a value of zero has its slot
/// too. The circuit must outlive the pencil, which refers to its tables of measured impedances.
Pencil assemble(const Circuit& circuit);

/// A(j 2 pi f), one value per slot.
void evaluate(const Pencil& pencil, double frequency_hz, std::span<std::complex<double>> values);

/// dA/domega, one value per slot: j C, and for a measured impedance the slope of its table.
void evaluate_slope(const Pencil& pencil, double frequency_hz,
                    std::span<std::complex<double>> values);

/// Z(f) from a table, R and X interpolated linearly over log f and constant beyond the ends; and
/// dZ/df, at a point of the table that of the segment above.
struct MeasuredImpedance {
    std::complex<double> ohm;
    std::complex<double> slope_ohm_per_hz;
};
MeasuredImpedance interpolate(const std::vector<ImpedancePoint>& points, double frequency_hz);

}  // namespace lowhiss
