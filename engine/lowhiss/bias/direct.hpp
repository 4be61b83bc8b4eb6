#pragma once

#include <vector>

#include "lowhiss/equations/pencil.hpp"

namespace lowhiss {

/// On which straight piece of its law a non-linear element is, and at which voltage a junction is
/// taken to be. `piece` of an amplifier: 0 in between, 1 and -1 at its rails, 2 without supply
/// enough for any; of a regulator: 0 regulating, 1 with its input too low, 2 without any,
/// 3 with its output held higher from elsewhere, so that it delivers nothing.
struct ElementBias {
    int piece = 0;
    double supply_v = 0;    ///< of an amplifier, between its supply pins
    double junction_v = 0;  ///< of a junction
    bool sources = true;    ///< an amplifier's output current comes out of the plus rail

    bool same_piece(const ElementBias& other) const {
        return piece == other.piece && sources == other.sources;
    }
};

/// The equations of direct current, made linear about a bias: G x = b, with no current through any
/// capacitance and no voltage across any inductance. Unknowns are numbered as in the circuit.
///
/// An amplifier without supply pins has no rails; with them its output stays `from_plus_v` and
/// `from_minus_v` off its rails, the current that it delivers comes out of them, and it draws
/// `current_a` besides, in proportion to the supply where that is below `min_v`. Offsets, whose
/// sign nobody knows, are left out.
struct DirectEquations {
    Pencil g;
    std::vector<double> b;
};
DirectEquations direct_equations(const Circuit& circuit, const std::vector<ElementBias>& bias,
                                 double source_scale);

/// The bias that a solution asks for. Where a junction's voltage has moved far it follows by the
/// logarithm only: its current then grows no faster than it would along the tangent.
std::vector<ElementBias> next_bias(const Circuit& circuit, const std::vector<ElementBias>& bias,
                                   const std::vector<double>& x);

double junction_current_a(const Junction& junction, double volts);
double junction_siemens(const Junction& junction, double volts);

/// Between which voltages an amplifier's output can be, by its rails.
struct OutputReach {
    double low_v;
    double high_v;
};
OutputReach reach_of(const AmplifierSupply& supply, double plus_v, double minus_v);

/// The voltage of a node; ground's is 0.
double direct_voltage(const std::vector<double>& x, int node);

/// The circuit with junctions and regulators as they are for small signals about that bias.
Circuit linearised(Circuit circuit, const std::vector<ElementBias>& bias,
                   const std::vector<double>& x);

}  // namespace lowhiss
