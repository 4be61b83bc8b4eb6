#pragma once

#include <array>
#include <string>
#include <variant>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/mechanism.hpp"

namespace lowhiss {

// A circuit is a list of linear elements between numbered nodes; node 0 is ground. Beside the node
// voltages, some elements bring unknowns of their own (branch currents, inner states). All
// unknowns are numbered together: node k > 0 is unknown k - 1, the others follow. Each unknown has
// one equation of the same number: Kirchhoff's current law at a node, or the element's own law.
// Currents count as leaving the node at `a` and flowing through the element to `b`.

struct Conductance {
    int a, b;
    double siemens;
};

struct Capacitance {
    int a, b;
    double farad;
};

/// v(a) - v(b) - (R + sL) i = e. With R = L = 0 an exact short, or a voltage source by its e, which
/// for direct current is `dc_v`.
struct Branch {
    int a, b;
    int current;
    double resistance_ohm = 0;
    double inductance_h = 0;
    double dc_v = 0;
};

/// A capacitor part: v(a) - v(b) - (1/C + sR) q = e, the current being s q. With the charge q as
/// an unknown, neither a large capacitance at a high frequency nor a small one at a low frequency
/// swamps its neighbours in a sum of admittances.
struct SeriesCapacitor {
    int a, b;
    int charge;
    double farad;
    double resistance_ohm;
};

/// Adds -s M of the other's current to the law of each of two branches.
struct Coupling {
    int current_a, current_b;
    double mutual_h;
};

/// v(a) - v(b) - Z(f) i = 0, Z from a table.
struct MeasuredBranch {
    int a, b;
    int current;
    std::vector<ImpedancePoint> points;
};

/// Voltage between `a` and `b`, or current from `a` to `b`, that a voltage or a current commands.
struct VoltageByVoltage {
    int a, b, current;
    int control_a, control_b;
    double gain;
};
struct VoltageByCurrent {
    int a, b, current;
    int control_current;
    double ohm;
};
struct CurrentByVoltage {
    int a, b;
    int control_a, control_b;
    double siemens;
};
struct CurrentByCurrent {
    int a, b;
    int control_current;
    double gain;
};

/// Does nothing to small signals; kept for the graph and for the operating point.
struct CurrentSource {
    int a, b;
    double dc_a;
};

/// What an amplifier's supply pins are on, and what it asks for there. For small signals a change
/// of the supply acts as one of (1 + s tp)/PSRR0 of itself between the inputs.
struct AmplifierSupply {
    int plus = -1, minus = -1;  ///< nodes, or -1 where the board does not say
    double inverse_psrr = 0;
    double psrr_time_s = 0;
    double offset_v = 0;
    double bias_a = 0;  ///< into each input
    double current_a = 0;
    double min_v = 0;
    double max_v = infinite;
    double from_plus_v = 0;  ///< how near to its rails the output gets
    double from_minus_v = 0;
    double slew_v_s = infinite;

    bool is_known() const { return plus >= 0; }
};

/// The op-amp of design section 7. Inner state x1 follows
///   (1/A0 + s t1) x1 - v_d - (1 + s tc)/CMRR0 v_cm = e_n,   t1 = 1/(2 pi gain_bandwidth),
/// x2 (where there is a second pole) follows (1 + s t2) x2 = x1, and the output branch
///   v(out) - x + R_out i = 0, i flowing into the out pin.
struct Amplifier {
    int plus, minus, out;
    int x1;
    int x2;  ///< -1 without a second pole
    int current;
    double inverse_gain;
    double t1_s;
    double t2_s;
    double inverse_cmrr;
    double cmrr_time_s;
    double output_resistance_ohm;
    AmplifierSupply supply{};
};

/// The preamp IC of design section 7: on each side a buffer's current i follows
/// v(input) - v(gain pin) - r_b i = e, the internal output o follows s C_t o - i = 0 and returns
/// (v(gain pin) - o) / R_f from the gain pin; the output branch is
///   v(out) - v(reference) - k (o1 - o2) - k (1 + s tc)/CMRR v_cm + R_out i = e_no.
struct PreampStage {
    std::array<int, 2> inputs;
    std::array<int, 2> gain_pins;
    std::array<int, 2> buffer_currents;
    std::array<int, 2> integrators;  ///< unknowns o1 and o2
    int out, reference;
    int current;
    double buffer_resistance_ohm;
    double integrator_f;
    double feedback_siemens;
    double gain_offset;
    double inverse_cmrr;
    double cmrr_time_s;
    double output_resistance_ohm;
    AmplifierSupply supply{};
};

/// A junction: for direct current, v = v(a) - v(b),
///   i = Is (exp(v / Vf) - 1) - Ib exp(-(v + Vb) / Vr),
/// the second term that of a breakdown; for small signals i - g v = 0 with g = di/dv at the
/// operating point. Shockley, "The theory of p-n junctions in semiconductors and p-n junction
/// transistors", Bell System Technical Journal 28, 1949; the breakdown is the exponential that
/// passes through a sheet's voltage, current and differential resistance.
struct Junction {
    int a, b;
    int current;
    double saturation_a;
    double slope_v;  ///< Vf, ideality times kT/q
    double breakdown_v = infinite;
    double breakdown_a = 0;
    double breakdown_slope_v = 1;
    double siemens = 0;
};

/// A regulator or converter, by the current that it delivers into `out`. For small signals
///   v(out) - v(reference) + R i - f (1 + s t) (v(in) - v(reference)) = e
/// and it draws d i + g (v(in) - v(reference)) + h (v(out) - v(reference)) at its input. What f, d,
/// g and h are depends on the operating point; for direct current the law is in `figures`.
struct RegulatorStage {
    int in, out, reference;
    int current;
    Regulator figures;
    double follow = 0;
    double follow_time_s = 0;
    double draw = 1;
    double draw_siemens = 0;
    double draw_by_output_siemens = 0;
};

using ElementLaw =
    std::variant<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
                 VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent,
                 CurrentSource, Amplifier, PreampStage, Junction, RegulatorStage>;

struct Element {
    ElementLaw law;
    int part;  ///< index into Circuit::parts
};

struct CircuitPart {
    std::string name;
    Position at;
};

/// Where a noise source acts on the right-hand sides: a current leaving one node for another, or a
/// voltage in an element's own law. An equation of -1 is ground's, and is left out.
struct Injection {
    struct Term {
        int equation;
        double weight;
    };
    std::array<Term, 2> terms;
};

/// Mean square density: white (1 + corner_hz / f), in V^2/Hz or A^2/Hz; or, of a measured
/// impedance, 4kT Re Z(f).
struct NoiseSource {
    int group;  ///< index into Circuit::noise_groups
    Injection injection;
    double white = 0;
    double corner_hz = 0;
    int measured_element = -1;  ///< index into Circuit::elements, or none
    int junction = -1;          ///< the same: `white` is 2qI of its current at the operating point
};

struct NoiseGroup {
    std::string part;
    Mechanism mechanism;
};

/// A capacitor whose capacitance can be thought shorted: where it stands in the equations.
struct CapacitorPort {
    int part;
    int charge;
    double farad;
};

/// A voltage that ripple may ride on: the equation that says what it is.
struct SupplySource {
    int part;
    int equation;
};

struct Circuit {
    std::vector<std::string> nodes;     ///< names; [0] is ground
    std::vector<std::string> unknowns;  ///< in words, for messages
    /// Of each unknown, and of the equation of the same number, the part that brings it; -1 for the
    /// voltage of a node of the board, which several parts share. See owners.hpp.
    std::vector<int> owners;
    std::vector<CircuitPart> parts;
    std::vector<Element> elements;
    std::vector<NoiseSource> noise;
    std::vector<NoiseGroup> noise_groups;
    std::vector<CapacitorPort> capacitors;
    std::vector<SupplySource> supplies;
    int input_plus = 0, input_minus = 0;
    int output_plus = 0, output_minus = 0;
    int emf_current = 0;  ///< unknown of the capsule's electromotive force
    double temperature_k = 293.15;
    double lowest_hz = 0;          ///< the range of a measured capsule, where nothing
    double highest_hz = infinite;  ///< may be asked outside it
    double knob_ohm = unset;       ///< the track between wiper and counter-clockwise end
};

/// What there is at an element's supply pins; null for what is no amplifier.
const AmplifierSupply* supply_of(const Element& element);

/// How the capsule's two ends are driven: by its electromotive force; or both alike, against
/// ground, each through half of its impedance and one through the input's mismatch besides; or, for
/// radio frequencies, by a generator of 150 ohm instead of the capsule, between them or to both
/// alike.
enum class Drive { differential, common, radio, radio_common };

/// The circuit of an assembled board (variants made already) with its knob at a rotation of 0 to 1
/// and a capsule in front; a null capsule is an ideal source.
Circuit build_circuit(const Board& board, double rotation, const Capsule* capsule,
                      Drive drive = Drive::differential);

}  // namespace lowhiss
