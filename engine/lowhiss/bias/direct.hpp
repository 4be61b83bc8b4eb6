#pragma once

#include <variant>
#include <vector>

#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/equations/pencil.hpp"

namespace lowhiss {

// Bias: takes a circuit and returns its direct voltages and currents and, from them, the circuit
// for small signals. This file has the equations of direct current, linear about an assumed state
// of each nonlinear element; operating_point.hpp has the search for the state that fits its own
// solution.

/// An element that direct current sees as linear.
struct LinearBias {};

/// The voltage at which a junction's exponential is replaced by its tangent.
struct JunctionBias {
    double v = 0;
};

/// The voltages at which a transistor's law is replaced by its tangent, in its own sense: from
/// control to common and from control to main.
struct TransistorBias {
    double v = 0;
    double w = 0;
};

/// The current that a part draws for itself, by its supply voltage.
enum class SupplyDraw {
    all,   ///< its supply current
    part,  ///< in proportion to the voltage, which is too low
    none   ///< the supply is reversed
};

/// The state of an amplifier whose supply pins are on the board.
struct AmplifierBias {
    enum class Output {
        between_rails,
        at_upper_rail,
        at_lower_rail,
        starved  ///< the supply leaves no reach; the output divides it as the two swings do
    };
    /// The supply pin that carries the output's current: the plus pin while the output delivers
    /// current, the minus pin while it takes some.
    enum class Rail { plus, minus };

    Output output = Output::between_rails;
    Rail carries_output = Rail::plus;
    SupplyDraw draw = SupplyDraw::all;
};

/// The state of a regulator or converter.
struct RegulatorBias {
    enum class State {
        regulating,
        dropped_out,  ///< its input is too low: the output follows the input
        off,          ///< its input is too low for any output, or reversed
        held          ///< its output is held higher from elsewhere, and it delivers nothing
    };

    State state = State::regulating;
    double draw = 1;  ///< input current of a converter over its output current
    SupplyDraw own = SupplyDraw::all;
};

using ElementBias =
    std::variant<LinearBias, JunctionBias, TransistorBias, AmplifierBias, RegulatorBias>;

/// Whether both are on the same linear piece of their law. Junctions and transistors have no
/// pieces.
bool same_piece(const ElementBias& a, const ElementBias& b);

/// The equations of direct current, linear about a bias: G x = b, with no current through any
/// capacitance and no voltage across any inductance. Unknowns are numbered as in the circuit.
///
/// An amplifier without supply pins has no rails. With them its output stays `from_plus_v` and
/// `from_minus_v` away from its rails, the current that it delivers comes out of them, and it draws
/// `current_a` besides, in proportion to the supply where that is below `least_working_v`. Offset
/// voltages, whose sign is not known, are left out.
struct DirectEquations {
    Pencil g;
    std::vector<double> b;
};
/// A search may scale the sources, reduce the gain of op-amps and bridge the junctions and channels
/// of transistors on the way to a solution.
struct DirectEase {
    double source_scale = 1;
    double least_inverse_gain = 0;
    double bridge_siemens = 0;
};
DirectEquations direct_equations(const Circuit& circuit, const std::vector<ElementBias>& bias,
                                 const DirectEase& ease = {});

/// The bias that follows from a solution x. A junction whose voltage has risen far, also one of a
/// transistor, follows by the logarithm only: its current then grows no faster than along the
/// tangent.
std::vector<ElementBias> next_bias(const Circuit& circuit, const std::vector<ElementBias>& bias,
                                   const std::vector<double>& x);

/// The two voltages of a transistor at a solution.
TransistorBias transistor_voltages(const Transistor& transistor, const std::vector<double>& x);

double junction_current_a(const Junction& junction, double volts);
double junction_siemens(const Junction& junction, double volts);

/// The voltages between which an amplifier's output can be, by its rails.
struct OutputReach {
    double low_v;
    double high_v;
};
/// A regulator draws its quiescent current from this input voltage on, less in proportion below: a
/// constant current drawn at 0 V would have no solution.
inline constexpr double least_supply_v = 1;

/// The supply below which an amplifier draws less than its supply current: `min_v`, or
/// `least_supply_v` where its model names less.
double least_working_v(const AmplifierSupply& supply);

OutputReach reach_of(const AmplifierSupply& supply, double plus_v, double minus_v);

/// The voltage of a node; ground's is 0.
double direct_voltage(const std::vector<double>& x, int node);

/// The circuit with junctions, transistors and regulators as small signals see them about that
/// bias.
Circuit linearised(Circuit circuit, const std::vector<ElementBias>& bias,
                   const std::vector<double>& x);

}  // namespace lowhiss
