#include "lowhiss/measure/headroom.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

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

}  // namespace

Headroom headroom_at(Setting& setting, double frequency_hz) {
    Headroom headroom;
    headroom.frequency_hz = frequency_hz;
    const Circuit& circuit = setting.circuit();
    const Solution solution = setting.network().solve(frequency_hz);
    double least_v = infinite;
    for (const Element& element : circuit.elements) {
        const AmplifierSupply* supply = supply_of(element);
        if (!supply) continue;
        if (!supply->is_known()) return headroom;
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
