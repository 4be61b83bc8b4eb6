#include <numbers>

#include "lowhiss/circuit/builder.hpp"

namespace lowhiss {
namespace {

/// The source impedance of conducted radio disturbance on both wires together is that of IEC
/// 61000-4-6, from memory.
constexpr double radio_ohm = 150;

/// Adds a capsule's impedance between `from` (the electromotive force) and `to` (the board).
class ImpedanceAdder {
  public:
    ImpedanceAdder(int from, int to, int emf, CircuitBuilder& builder)
        : from_(from), to_(to), emf_(emf), builder_(builder) {}

    void operator()(const ResistiveCapsule& c) {
        builder_.resistor(from_, to_, c.resistance_ohm, true);
    }

    void operator()(const DynamicCapsule& c) {
        int end = from_;
        for (const Resonance& resonance : c.resonances) end = add_resonance(resonance, end);
        const int coil = builder_.branch(end, to_, c.coil_resistance_ohm, c.coil_inductance_h);
        builder_.noise_voltage(Mechanism::thermal, coil,
                               builder_.thermal_v2_hz(c.coil_resistance_ohm), 0);
    }

    void operator()(const CondenserCapsule& c) {
        builder_.capacitance(from_, to_, c.capacitance_f);
        builder_.resistor(from_, to_, c.leakage_resistance_ohm, true);
    }

    void operator()(const ElectretCapsule& c) {
        builder_.resistor(from_, to_, c.output_resistance_ohm, false);
        builder_.noise_voltage(Mechanism::self_noise, emf_,
                               c.self_noise_v_rthz * c.self_noise_v_rthz, c.self_noise_corner_hz);
    }

    void operator()(const MeasuredCapsule& c) {
        const int current = builder_.own_unknown(Unknown::capsule_current);
        const int element = builder_.add(MeasuredBranch{from_, to_, current, c.points});
        builder_.measured_noise(current, element);
        if (c.extrapolate) return;
        builder_.circuit().lowest_hz = c.points.front().frequency_hz;
        builder_.circuit().highest_hz = c.points.back().frequency_hz;
    }

  private:
    /// R_m / (1 + Q (s/w0 + w0/s)) is R_m, L = R_m / (Q w0) and C = Q / (w0 R_m) in parallel.
    int add_resonance(const Resonance& r, int start) {
        const int end = builder_.inner_node("resonance");
        const double omega = 2 * std::numbers::pi * r.frequency_hz;
        builder_.resistor(start, end, r.resistance_ohm, true);
        builder_.branch(start, end, 0, r.resistance_ohm / (r.q * omega));
        builder_.series_capacitor(start, end, r.q / (omega * r.resistance_ohm), 0);
        return end;
    }

    int from_;
    int to_;
    int emf_;
    CircuitBuilder& builder_;
};

/// Halves an impedance.
struct Halve {
    void operator()(ResistiveCapsule& c) const { c.resistance_ohm /= 2; }
    void operator()(CondenserCapsule& c) const {
        c.capacitance_f *= 2;
        c.leakage_resistance_ohm /= 2;
    }
    void operator()(ElectretCapsule& c) const { c.output_resistance_ohm /= 2; }
    void operator()(DynamicCapsule& c) const {
        c.coil_resistance_ohm /= 2;
        c.coil_inductance_h /= 2;
        for (Resonance& resonance : c.resonances) resonance.resistance_ohm /= 2;
    }
    void operator()(MeasuredCapsule& c) const {
        for (ImpedancePoint& point : c.points) {
            point.resistance_ohm /= 2;
            point.reactance_ohm /= 2;
        }
    }
};

/// Extra resistance between the source and each terminal.
struct Legs {
    double plus_ohm = 0;
    double minus_ohm = 0;
};

/// Drives both terminals against ground by one electromotive force. Both legs have an element for
/// the mismatch, so that the structure is the same whichever has it.
void add_common_source(const Capsule& half, const Input& input, Legs legs,
                       CircuitBuilder& builder) {
    const int plus = builder.node(input.plus.node);
    const int minus = builder.node(input.minus.node);
    const int from = builder.inner_node("common");
    const int plus_leg = builder.inner_node("plus leg");
    const int minus_leg = builder.inner_node("minus leg");
    const int emf = builder.branch(from, 0, 0);
    builder.circuit().emf_current = emf;
    std::visit(ImpedanceAdder(from, plus_leg, emf, builder), half.impedance);
    builder.branch(plus_leg, plus, legs.plus_ohm);
    std::visit(ImpedanceAdder(from, minus_leg, emf, builder), half.impedance);
    builder.branch(minus_leg, minus, legs.minus_ohm);
}

void add_capsule(const Capsule* capsule, const Input& input, CircuitBuilder& builder) {
    const int plus = builder.node(input.plus.node);
    const int minus = builder.node(input.minus.node);
    const int from = capsule ? builder.inner_node("emf") : plus;
    const int emf = builder.branch(from, minus, 0);
    builder.circuit().emf_current = emf;
    if (capsule) std::visit(ImpedanceAdder(from, plus, emf, builder), capsule->impedance);
}

/// A capsule of half the impedance; for an ideal source one without impedance.
Capsule half_of(const Capsule* capsule) {
    Capsule half;
    half.impedance = ResistiveCapsule{0};
    if (!capsule) return half;
    half = *capsule;
    std::visit(Halve{}, half.impedance);
    return half;
}

Capsule generator(double ohm) {
    Capsule made;
    made.impedance = ResistiveCapsule{ohm};
    return made;
}

}  // namespace

void add_source(const Capsule* capsule, const Input& input, Drive drive, CircuitBuilder& builder) {
    builder.begin_part(std::string(capsule_part), input.plus.at);
    Circuit& circuit = builder.circuit();
    circuit.input_plus = builder.node(input.plus.node);
    circuit.input_minus = builder.node(input.minus.node);
    const Capsule radio = generator(radio_ohm);
    switch (drive) {
        case Drive::differential:
            return add_capsule(capsule, input, builder);
        case Drive::common:
            return add_common_source(half_of(capsule), input, {input.mismatch_ohm, 0}, builder);
        case Drive::common_swapped:
            return add_common_source(half_of(capsule), input, {0, input.mismatch_ohm}, builder);
        case Drive::radio:
            return add_capsule(&radio, input, builder);
        case Drive::radio_common:
            return add_common_source(generator(2 * radio_ohm), input, {input.mismatch_ohm, 0},
                                     builder);
        case Drive::radio_common_swapped:
            return add_common_source(generator(2 * radio_ohm), input, {0, input.mismatch_ohm},
                                     builder);
    }
}

}  // namespace lowhiss
