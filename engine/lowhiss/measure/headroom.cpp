#include "lowhiss/measure/headroom.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/bias/transistor.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/output_node.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

double sensitivity_of(Setting& setting) {
    return setting.capsule() ? setting.capsule()->sensitivity_v_pa : unset;
}

/// The peak of the largest sine about the amplifier's direct output voltage.
double swing_v(const OperatingPoint& point, const AmplifierSupply& supply, int out) {
    const OutputReach reach =
        reach_of(supply, point.node_v(supply.plus), point.node_v(supply.minus));
    const double rest_v = point.node_v(out);
    return std::max(0.0, std::min(reach.high_v - rest_v, rest_v - reach.low_v));
}

/// The peak of the electromotive force by which an active transistor cuts off or saturates, or a
/// JFET leaves saturation; infinite for one that is not active, whose swing is not known.
/// `solution` has the small signals at an electromotive force of 1 V.
double transistor_peak_v(const Transistor& e, const TransistorBias& rest,
                         const Solution& solution) {
    if (region_of(e, rest.v, rest.w) != TransistorRegion::active) return infinite;
    const auto& u = solution.x;
    const Complex control = node_voltage(u, e.control);
    const Complex v = control - node_voltage(u, e.common);
    const Complex w = control - node_voltage(u, e.main);
    const double current = std::abs(e.main_by_common * v + e.main_by_main * w);
    const double at_rest_a = currents_of(e, rest.v, rest.w).main_a;
    double room_v = 0;
    double moved = 0;
    if (const auto* jfet = std::get_if<JfetLaw>(&e.law)) {
        room_v = -jfet->pinch_off_v - rest.w;
        moved = std::abs(w);
    } else {
        const double thermal_v = std::get<BipolarLaw>(e.law).thermal_v;
        room_v = rest.v - rest.w + thermal_v * std::log(saturated_part);
        moved = std::abs(v - w);
    }
    return std::min(at_rest_a / current, room_v / moved);
}

}  // namespace

Headroom headroom_at(Setting& setting, double frequency_hz) {
    Headroom headroom;
    headroom.frequency_hz = frequency_hz;
    const Circuit& circuit = setting.circuit();
    const Solution solution = setting.network().solve(frequency_hz);
    double least_v = infinite;
    for (std::size_t k = 0; k < circuit.elements.size(); ++k) {
        const auto* transistor = std::get_if<Transistor>(&circuit.elements[k].law);
        if (!transistor) continue;
        const auto& rest = std::get<TransistorBias>(setting.operating().bias[k]);
        const double peak_v = transistor_peak_v(*transistor, rest, solution);
        if (!(peak_v < least_v)) continue;
        least_v = peak_v;
        headroom.part = circuit.parts[static_cast<std::size_t>(circuit.elements[k].part)].name;
    }
    for (const Element& element : circuit.elements) {
        const AmplifierSupply* supply = supply_of(element);
        if (!supply) continue;
        if (!supply->is_known()) {
            headroom.part.clear();
            return headroom;
        }
        const int out = output_node(element.law);
        const double gain = std::abs(node_voltage(solution.x, out));
        const double swing = swing_v(setting.operating(), *supply, out);
        const double slewed_v = supply->slew_v_s / (2 * std::numbers::pi * frequency_hz);
        const double input_v = std::min(swing, slewed_v) / gain;
        if (!(input_v < least_v)) continue;
        least_v = input_v;
        headroom.part = circuit.parts[static_cast<std::size_t>(element.part)].name;
        headroom.slews = slewed_v < swing;
    }
    if (!std::isfinite(least_v)) return headroom;
    headroom.input_v = least_v / std::numbers::sqrt2;
    headroom.output_v = headroom.input_v * std::abs(solution.gain);
    return headroom;
}

double max_input_dbu(Setting& setting, double frequency_hz) {
    return or_unset(dbu_from_v(headroom_at(setting, frequency_hz).input_v));
}

double max_output_dbu(Setting& setting, double frequency_hz) {
    return or_unset(dbu_from_v(headroom_at(setting, frequency_hz).output_v));
}

double db_spl(double rms_v, double sensitivity_v_pa) {
    return or_unset(db_from_ratio(rms_v / sensitivity_v_pa / zero_spl_pa));
}

double sound_emf_v(Setting& setting, double level_db_spl) {
    return zero_spl_pa * ratio_from_db(level_db_spl) * sensitivity_of(setting);
}

double max_spl_db(Setting& setting, double frequency_hz) {
    return db_spl(headroom_at(setting, frequency_hz).input_v, sensitivity_of(setting));
}

double self_noise_db_spl(Setting& setting, const Band& band) {
    return db_spl(v_from_dbu(ein_a_dbu(setting, band)), sensitivity_of(setting));
}

double output_level_dbu(Setting& setting, double frequency_hz) {
    return or_unset(dbu_from_v(sensitivity_of(setting) * std::abs(setting.at(frequency_hz).gain)));
}

double dynamic_range_db(Setting& setting, const Band& band) {
    return max_input_dbu(setting, reference_hz) - ein_a_dbu(setting, band);
}

}  // namespace lowhiss
