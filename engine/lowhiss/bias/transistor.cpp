#include "lowhiss/bias/transistor.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// A transistor with less collector current than this counts as cut off.
constexpr double least_collector_a = 1e-9;
/// More gate current than this spoils the high resistance of a gate.
constexpr double most_gate_a = 1e-9;

struct Exponential {
    double minus_one;  ///< exp(v / VT) - 1
    double slope;      ///< its derivative by v
};
Exponential exponential(double v, double thermal_v) {
    return {std::expm1(v / thermal_v), std::exp(v / thermal_v) / thermal_v};
}

TransistorCurrents currents(const BipolarLaw& law, double v, double w) {
    const Exponential e = exponential(v, law.thermal_v);
    const Exponential c = exponential(w, law.thermal_v);
    const double is = law.saturation_a;
    const double early = 1 - w / law.early_v;
    const double through = is * (e.minus_one - c.minus_one);
    const double reverse_a = is / law.reverse_current_gain * c.minus_one;
    const double reverse_s = is / law.reverse_current_gain * c.slope;
    TransistorCurrents i{};
    i.main_a = through * early - reverse_a;
    i.main_by_common = is * e.slope * early;
    i.main_by_main = -is * c.slope * early - through / law.early_v - reverse_s;
    i.control_a = is / law.current_gain * e.minus_one + reverse_a;
    i.control_by_common = is / law.current_gain * e.slope;
    i.control_by_main = reverse_s;
    return i;
}

TransistorCurrents currents(const JfetLaw& law, double v, double w) {
    const double at_common = std::max(v + law.pinch_off_v, 0.0);
    const double at_main = std::max(w + law.pinch_off_v, 0.0);
    const double across = v - w;
    const double early = 1 + std::abs(across) / law.early_v;
    const double early_slope = (across < 0 ? -1 : 1) / law.early_v;
    const double through = law.factor_a_v2 * (at_common - at_main) * (at_common + at_main);
    const Exponential s = exponential(v, law.thermal_v);
    const Exponential d = exponential(w, law.thermal_v);
    const double is = law.gate_saturation_a;
    TransistorCurrents i{};
    i.main_a = through * early - is * d.minus_one;
    i.main_by_common = 2 * law.factor_a_v2 * at_common * early + through * early_slope;
    i.main_by_main = -2 * law.factor_a_v2 * at_main * early - through * early_slope - is * d.slope;
    i.control_a = is * (s.minus_one + d.minus_one);
    i.control_by_common = is * s.slope;
    i.control_by_main = is * d.slope;
    return i;
}

TransistorRegion region(const BipolarLaw& law, double v, double w) {
    const double forward_a = law.saturation_a * std::exp(v / law.thermal_v);
    const double backward_a = law.saturation_a * std::exp(w / law.thermal_v);
    if (std::max(forward_a, backward_a) < least_collector_a) return TransistorRegion::cut_off;
    // Deep in saturation a few millivolts of either sign are left.
    if (w - v > 2 * law.thermal_v) return TransistorRegion::reversed;
    return backward_a > saturated_part * forward_a ? TransistorRegion::saturated
                                                   : TransistorRegion::active;
}

TransistorRegion region(const JfetLaw& law, double v, double w) {
    const double gate_a =
        law.gate_saturation_a * (std::expm1(v / law.thermal_v) + std::expm1(w / law.thermal_v));
    if (gate_a > most_gate_a) return TransistorRegion::gate_conducts;
    const bool at_common = v + law.pinch_off_v > 0;
    const bool at_main = w + law.pinch_off_v > 0;
    if (!at_common && !at_main) return TransistorRegion::cut_off;
    if (!at_common) return TransistorRegion::reversed;
    return at_main ? TransistorRegion::saturated : TransistorRegion::active;
}

double channel_a2_hz(const JfetLaw& law, double v, double w, double channel_v2_hz,
                     double temperature_k) {
    const double high = std::max({v + law.pinch_off_v, w + law.pinch_off_v, 0.0});
    if (high == 0) return 0;
    const double low = std::max(std::min(v, w) + law.pinch_off_v, 0.0);
    const double z = low / high;
    const double siemens = 2 * law.factor_a_v2 * high * (1 + std::abs(v - w) / law.early_v);
    const double saturated = std::isnan(channel_v2_hz)
                                 ? 4 * boltzmann_j_k * temperature_k * 2 / 3 * siemens
                                 : channel_v2_hz * siemens * siemens;
    return saturated * (1 + z + z * z) / (1 + z);
}

}  // namespace

TransistorCurrents currents_of(const Transistor& transistor, double v, double w) {
    TransistorCurrents i =
        std::visit([&](const auto& law) { return currents(law, v, w); }, transistor.law);
    constexpr double g = transistor_insulation_siemens;
    i.main_a += g * (v - w) - g * w;
    i.main_by_common += g;
    i.main_by_main -= 2 * g;
    i.control_a += g * (v + w);
    i.control_by_common += g;
    i.control_by_main += g;
    return i;
}

TransistorRegion region_of(const Transistor& transistor, double v, double w) {
    return std::visit([&](const auto& law) { return region(law, v, w); }, transistor.law);
}

double transistor_noise_a2_hz(const Transistor& transistor, const NoiseSource& source,
                              Mechanism mechanism, double v, double w, double temperature_k) {
    if (const auto* jfet = std::get_if<JfetLaw>(&transistor.law)) {
        return channel_a2_hz(*jfet, v, w, source.channel_v2_hz, temperature_k);
    }
    const TransistorCurrents i = currents(std::get<BipolarLaw>(transistor.law), v, w);
    const double amperes = mechanism == Mechanism::base_shot ? i.control_a : i.main_a;
    return 2 * elementary_charge_c * std::abs(amperes);
}

}  // namespace lowhiss
