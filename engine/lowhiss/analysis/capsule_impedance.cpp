#include "lowhiss/analysis/capsule_impedance.hpp"

#include <numbers>

namespace lowhiss {
namespace {

/// The impedance at one frequency, one overload per kind of capsule.
struct CapsuleImpedance {
    double frequency_hz;

    Complex operator()(const ResistiveCapsule& c) const { return c.resistance_ohm; }
    Complex operator()(const ElectretCapsule& c) const { return c.output_resistance_ohm; }
    Complex operator()(const MeasuredCapsule& c) const {
        return interpolate(c.points, frequency_hz).ohm;
    }

    Complex operator()(const CondenserCapsule& c) const {
        return 1.0 / (1 / c.leakage_resistance_ohm + s() * c.capacitance_f);
    }

    /// Each resonance is R_m / (1 + Q (s/w0 + w0/s)) in series with the coil.
    Complex operator()(const DynamicCapsule& c) const {
        Complex sum = c.coil_resistance_ohm + s() * c.coil_inductance_h;
        for (const Resonance& r : c.resonances) {
            const double detuning = frequency_hz / r.frequency_hz - r.frequency_hz / frequency_hz;
            sum += r.resistance_ohm / Complex(1, r.q * detuning);
        }
        return sum;
    }

    Complex s() const { return {0, 2 * std::numbers::pi * frequency_hz}; }
};

}  // namespace

Complex impedance_of(const Capsule* capsule, double frequency_hz) {
    if (!capsule) return 0;
    return std::visit(CapsuleImpedance{frequency_hz}, capsule->impedance);
}

}  // namespace lowhiss
