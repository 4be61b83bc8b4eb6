#pragma once

#include <array>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/mechanism.hpp"

namespace lowhiss {

// Circuit: takes an assembled board, the rotation of its knob and a capsule, and returns elements
// and noise sources between numbered nodes. Their equations are set up by the stage `equations`.
//
// Node 0 is ground. Besides the node voltages, some elements have unknowns of their own (branch
// currents, inner states). All unknowns are numbered together: the voltage of node k > 0 is unknown
// k - 1, the others follow. Each unknown has one equation of the same number: Kirchhoff's current
// law at a node, or the element's own law. Currents count as leaving the node `a` and flowing
// through the element to `b`.

struct Conductance {
    int a, b;
    double siemens;
};

struct Capacitance {
    int a, b;
    double farad;
};

/// v(a) - v(b) - (R + sL) i = e. With R = L = 0 an exact short, or a voltage source; for direct
/// current e is `dc_v`.
struct Branch {
    int a, b;
    int current;
    double resistance_ohm = 0;
    double inductance_h = 0;
    double dc_v = 0;
    bool coupled = false;  ///< the secondary of a Coupling, which completes its law
};

/// Whether it holds its nodes at a voltage of its own, whatever current flows.
inline bool is_short(const Branch& e) {
    return e.resistance_ohm == 0 && e.inductance_h == 0 && !e.coupled;
}

/// A capacitor part: v(a) - v(b) - (1/C + sR) q = e, its current being s q. With the charge q as
/// unknown, neither a large capacitance at a high frequency nor a small one at a low frequency
/// swamps its neighbours in a sum of admittances.
struct SeriesCapacitor {
    int a, b;
    int charge;
    double farad;  ///< without bias; for small signals at its direct voltage
    double resistance_ohm;
    std::shared_ptr<const BiasLoss> bias_loss{};  ///< null: none
    double bend_per_v = 0,
           bend_per_v2 = 0;  ///< a and b of C (1 + a v + b v^2) about rest, v from a to b
};

/// The coupling of a primary, a Branch of inductance L1 and resistance R1 between `a` and `b`, with
/// a secondary, a Branch whose inductance is only the leakage (1 - k^2) L2. It subtracts s M i2 in
/// the law of the primary, and in that of the secondary n k times the law of the primary, so that
///   v1 - (R1 + sL1) i1 - s M i2 = e1,   M = k n L1, n^2 = L2 / L1,
///   v2 - (R2 + s (1 - k^2) L2) i2 - n k (v1 - R1 i1) = e2 - n k e1.
/// In the usual form, v2 - s M i1 - (R2 + sL2) i2 = e2, the voltage at a load is the small
/// difference of two large ones; here a perfect coupling is the ratio of the turns, whatever the
/// inductance.
struct Coupling {
    int a, b;
    int current_a, current_b;
    double mutual_h;
    double turns;  ///< n k
    double resistance_ohm;
};

/// v(a) - v(b) - Z(f) i = 0 with Z from a table.
struct MeasuredBranch {
    int a, b;
    int current;
    std::vector<ImpedancePoint> points;
};

// Controlled sources: a voltage between `a` and `b`, or a current from `a` to `b`, in proportion to
// a voltage or a current elsewhere.

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

/// Has no effect on small signals; kept for topology and for the operating point.
struct CurrentSource {
    int a, b;
    double dc_a;
};

/// The supply of an amplifier and the figures that depend on it. For small signals a change of the
/// supply voltage acts like a voltage of (1 + s tp)/PSRR0 times that change between the inputs.
struct AmplifierSupply {
    int plus = -1, minus = -1;  ///< nodes, or -1 if the board has no supply pins
    double inverse_psrr = 0;
    double psrr_time_s = 0;
    double offset_v = 0;
    double bias_a = 0;  ///< into each input
    double current_a = 0;
    double min_v = 0;
    double max_v = infinite;
    double from_plus_v = 0;  ///< least distance of the output from the rails
    double from_minus_v = 0;
    double slew_v_s = infinite;

    bool is_known() const { return plus >= 0; }
};

/// An op-amp. Its inner state x1 follows
///   (1/A0 + s t1) x1 - v_d - (1 + s tc)/CMRR0 v_cm = e_n,   t1 = 1/(2 pi gain_bandwidth),
/// with v_d the difference and v_cm the mean of the input voltages; x2 (if there is a second pole)
/// follows (1 + s t2) x2 = x1; and the output branch is
///   v(out) - x + R_out i = 0
/// with x the last of the two states and i delivered by the out pin.
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

/// A preamp IC whose gain one resistor between its gain pins sets. On each side the current i of a
/// buffer follows v(input) - v(gain pin) - r_b i = e, an inner output o follows s C_t o - i = 0,
/// and (v(gain pin) - o) / R_f flows from the gain pin to it. The output branch is
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
///   i = Is (exp(v / Vf) - 1) - Ib (exp(-(v + Vb) / Vr) - exp(-Vb / Vr)),
/// the second term for breakdown, so that no current flows at 0 V; for small signals i - g v = 0
/// with g = di/dv at the operating point. Shockley, "The theory of p-n junctions in semiconductors
/// and p-n junction transistors", Bell System Technical Journal 28, 1949. The breakdown is the
/// exponential with the voltage, current and differential resistance of a data sheet, and with no
/// current at 0 V.
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

/// A regulator or converter that delivers the current i into `out`. For small signals
///   v(out) - v(reference) + R i - f (1 + s t) (v(in) - v(reference)) = e
/// and it draws d i + g (v(in) - v(reference)) + h (v(out) - v(reference)) at its input; f, d, g
/// and h follow from the operating point. The law for direct current is that of `figures`.
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

/// The junctions of a bipolar transistor without its resistances (Ebers and Moll, "Large-signal
/// behavior of junction transistors", Proceedings of the IRE 42, 1954, in transport form with the
/// Early effect), for v = v(base) - v(emitter) and w = v(base) - v(collector):
///   collector  Is (exp(v / VT) - exp(w / VT)) (1 - w / VA) - Is / Br (exp(w / VT) - 1)
///   base       Is / B (exp(v / VT) - 1) + Is / Br (exp(w / VT) - 1)
struct BipolarLaw {
    double saturation_a;
    double thermal_v;
    double current_gain;
    double reverse_current_gain;
    double early_v;
    double transit_s;  ///< base charge over collector current, for the capacitance tau gm
};

/// The channel of a JFET by the square law (Shockley, "A unipolar field-effect transistor",
/// Proceedings of the IRE 40, 1952, in the usual quadratic form), for v = v(gate) - v(source) and
/// w = v(gate) - v(drain):
///   drain  b (max(v + Vp, 0)^2 - max(w + Vp, 0)^2) (1 + |v - w| / VA),   b = Idss / Vp^2,
/// which is saturation for w < -Vp, the triode region above, nothing where both are cut off, and
/// the same seen from the other end where drain and source change roles. Two junctions from the
/// gate conduct Ig (exp(v / VT) - 1) and Ig (exp(w / VT) - 1).
struct JfetLaw {
    double factor_a_v2;
    double pinch_off_v;
    double early_v;
    double gate_saturation_a;
    double thermal_v;
};

/// A transistor. `main` is the collector or drain, `control` the base or gate, `common` the
/// emitter or source. Voltages and currents of its law are multiplied by `sign`, -1 for pnp and
/// p-channel types. An insulation of `transistor_insulation_siemens` between each two of the three
/// keeps a cut-off transistor's nodes from having no voltage at all. `leak_a` flows from `main` to
/// `control`.
///
/// For small signals the current i into `main` and j into `control` are
///   i = main_by_common v + main_by_main w,   j = control_by_common v + control_by_main w
/// with v and w as in the laws, besides the two capacitances; these follow from the operating
/// point.
struct Transistor {
    int main, control, common;
    double sign;
    std::variant<BipolarLaw, JfetLaw> law;
    double leak_a = 0;
    double common_f = 0;  ///< from `control` to `common`, without current
    double main_f = 0;    ///< from `control` to `main`
    double main_by_common = 0, main_by_main = 0;
    double control_by_common = 0, control_by_main = 0;
};
inline constexpr double transistor_insulation_siemens = 1e-15;

using ElementLaw =
    std::variant<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
                 VoltageByVoltage, VoltageByCurrent, CurrentByVoltage, CurrentByCurrent,
                 CurrentSource, Amplifier, PreampStage, Junction, Transistor, RegulatorStage>;

struct Element {
    ElementLaw law;
    int part;  ///< index into Circuit::parts
};

struct CircuitPart {
    std::string name;
    Position at;
};

/// The terms that a noise source adds to the right-hand sides: a current from one node to another,
/// or a voltage in an element's own law. Equation -1 is that of ground and is left out.
struct Injection {
    struct Term {
        int equation;
        double weight;
    };
    std::array<Term, 2> terms;
};

/// Mean square density: white (1 + corner_hz / f), in V^2/Hz or A^2/Hz; for a measured impedance
/// 4kT Re Z(f).
struct NoiseSource {
    int group;  ///< index into Circuit::noise_groups
    Injection injection;
    double white = 0;
    double corner_hz = 0;
    int measured_element = -1;  ///< index into Circuit::elements, or none
    int junction = -1;  ///< likewise; `white` follows from its operating point, by the mechanism
    double channel_v2_hz =
        unset;  ///< of a channel, at the gate; unset: it follows from the transconductance
};

struct NoiseGroup {
    std::string part;
    Mechanism mechanism;
};

/// A capacitor part and its place in the equations, for the gain with the capacitor replaced by a
/// short (analysis/rolloff.hpp).
struct CapacitorPort {
    int part;
    int charge;
    double farad;
};

/// An inductor, or the magnetising inductance of a transformer, and its place in the equations, for
/// the gain with the inductance made infinite. A transformer is two leakage inductances, the
/// magnetising inductance k L1 on its primary and a perfect transformer of its ratio n; its
/// magnetising current is i + n times the secondary's current. That of an inductor is its current
/// i.
struct InductancePort {
    int part;
    int current;
    double henry;
    int secondary_current = -1;  ///< of a transformer, else -1
    double ratio = 0;
    double law_ratio =
        0;  ///< n (1 - k): its share of the magnetising voltage in the secondary's law
};

/// A supply that may carry ripple, and the equation that sets its voltage.
struct SupplySource {
    int part;
    int equation;
};

enum class Unknown {
    node_voltage,
    current,
    capsule_current,
    output_current,
    buffer_current,
    charge,
    inner_state,
    second_pole,
    inner_output
};

struct Circuit {
    std::vector<std::string> nodes;  ///< names; [0] is ground
    std::vector<Unknown> unknowns;   ///< the voltages of nodes from [1] on, then those of parts
    /// The part that adds each unknown and the equation of the same number; -1 for the voltage of a
    /// node of the board, which several parts share. See owners.hpp.
    std::vector<int> owners;
    std::vector<CircuitPart> parts;
    std::vector<Element> elements;
    std::vector<NoiseSource> noise;
    std::vector<NoiseGroup> noise_groups;
    std::vector<CapacitorPort> capacitors;
    std::vector<InductancePort> inductances;
    std::vector<SupplySource> supplies;
    int input_plus = 0, input_minus = 0;
    int output_plus = 0, output_minus = 0;
    int emf_current = 0;  ///< unknown of the capsule's electromotive force
    double temperature_k = 293.15;
    double lowest_hz = 0;          ///< with a measured capsule that may not be extrapolated, the
    double highest_hz = infinite;  ///< range of its table; nothing may be computed outside it
    double knob_ohm = unset;       ///< of the knob's track, counter-clockwise end to wiper
};

/// An unknown in words, for messages: "the voltage of node 'a'", "the current through R1".
std::string text_of_unknown(const Circuit& circuit, int unknown);

/// The supply of an amplifier; null for other elements.
const AmplifierSupply* supply_of(const Element& element);

/// How the input terminals are driven: `differential`, by the electromotive force of the capsule
/// between them; `common`, both against ground by one source, each through half of the capsule's
/// impedance and the plus terminal also through the input's mismatch; `radio` and `radio_common`,
/// likewise with a generator of 150 ohm instead of the capsule. `swapped` has the mismatch at the
/// minus terminal.
enum class Drive {
    differential,
    common,
    common_swapped,
    radio,
    radio_common,
    radio_common_swapped
};

/// The circuit of an assembled board (variants applied) with its knob at a rotation of 0 to 1 and a
/// capsule at its input; a null capsule is an ideal voltage source.
Circuit build_circuit(const Board& board, double rotation, const Capsule* capsule,
                      Drive drive = Drive::differential);

}  // namespace lowhiss
