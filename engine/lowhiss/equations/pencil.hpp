#pragma once

#include <complex>
#include <span>
#include <utility>
#include <vector>

#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

/// The nodal equations of a circuit, A(s) x = b with A(s) = G + s C, both real and sparse and on
/// one common pattern, by columns. A current i of its own makes the matrix square, as for an EMF e
/// behind R1 at node 1 and a capacitor C from node 2 to ground behind R2:
///
///        v1       v2         i
///   1 [ 1/R1+1/R2 -1/R2      .  ] [v1]   [ . ]
///   2 [ -1/R2     1/R2+sC    .  ] [v2] = [ . ]      (R1 joins node 1 to the EMF, not shown)
///   i [ ...                     ] [i ]   [ e ]
///
/// A measured impedance is a complex -Z(f) on the diagonal of its own law.
struct Pencil {
    struct Measured {
        int slot;
        const std::vector<ImpedancePoint>* points;
    };

    int size = 0;
    std::vector<int> column_start;  ///< size + 1
    std::vector<int> row;           ///< of each slot, ascending in a column
    std::vector<double> g;          ///< of each slot
    std::vector<double> c;          ///< of each slot
    std::vector<Measured> measured;

    int slots() const { return static_cast<int>(row.size()); }
};

/// Stamps every element. The pattern depends on the structure alone: a value that is zero still
/// has its slot. The circuit must outlive the pencil (measured tables are not copied).
Pencil assemble(const Circuit& circuit);

/// A(j 2 pi f), one value a slot.
void evaluate(const Pencil& pencil, double frequency_hz, std::span<std::complex<double>> values);

/// dA/domega, one value a slot; j C, and of a measured impedance the slope of its table.
void evaluate_slope(const Pencil& pencil, double frequency_hz,
                    std::span<std::complex<double>> values);

/// Z(f) of a table, linear in R and X over log f, held beyond its ends; and dZ/df, at a point of
/// the table that of the segment above it.
struct MeasuredImpedance {
    std::complex<double> ohm;
    std::complex<double> slope_ohm_per_hz;
};
MeasuredImpedance interpolate(const std::vector<ImpedancePoint>& points, double frequency_hz);

}  // namespace lowhiss
