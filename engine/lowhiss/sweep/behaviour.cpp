#include "lowhiss/sweep/behaviour.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/measure/output_load.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

/// Unset where the circuit cannot be solved to a trustworthy result, which happens far outside the
/// audio band and outside the range of a measured capsule.
template <class Figure>
double guarded(Setting& setting, double frequency_hz, Figure figure) {
    try {
        return figure(setting, frequency_hz);
    } catch (const Error&) {
        return unset;
    }
}

template <std::size_t Count, class Figure>
std::array<double, Count> curve(Setting& setting, const std::array<double, Count>& frequency_hz,
                                Figure figure) {
    std::array<double, Count> values{};
    for (std::size_t k = 0; k < Count; ++k) {
        values[k] = guarded(setting, frequency_hz[k], figure);
    }
    return values;
}

void add_supplies(Setting& setting, const Band& band, Behaviour& result) {
    for (const std::string& source : supply_sources(setting)) {
        SupplyRejection supply{source, {}, quiet_level_v(setting, band, source)};
        supply.rejection_db = curve(setting, supply_hz, [&](Setting& s, double f_hz) {
            return supply_rejection_db(s, f_hz, source);
        });
        result.supplies.push_back(std::move(supply));
    }
    result.feed_rejection_db = feed_rejection_db(setting, reference_hz);
    result.ripples = ripple_arrivals(setting, band);
}

/// A circuit for small signals may lack direct voltages, as with a coil across a voltage source.
std::vector<PlacedFault> supply_faults_or_none(Setting& setting) {
    try {
        return faults_at(setting);
    } catch (const Error&) {
        return {};
    }
}

/// With a cable, margins may depend on an output resistance that a model leaves out, even if those
/// of the board as drawn do not.
std::vector<AssumedIdeal> margins_at_best(Setting& setting, double cable_f) {
    Board cabled = setting.board();
    cabled.output.cable_f = cable_f;
    ModelGaps gaps(cabled);
    if (!gaps.any()) return {};
    Setting with_cable(cabled, setting.capsule(), setting.angle());
    return gaps.of({"phase_margin", "gain_margin", "mode_q"}, with_cable);
}

void add_output(Setting& setting, Behaviour& result) {
    result.output_ohm = curve(setting, output_hz, output_impedance_ohm);
    for (std::size_t k = 0; k < output_loads_ohm.size(); ++k) {
        result.loss_db[k] = loss_into_db(setting, reference_hz, output_loads_ohm[k], 0);
    }
    result.cable_loss_db = loss_into_db(setting, long_cable_hz, infinite, long_cable_f);
    result.output_level_dbu = output_level_dbu(setting, reference_hz);
    result.pins = {guarded(setting, reference_hz, plus_pin_impedance_ohm),
                   guarded(setting, reference_hz, minus_pin_impedance_ohm)};
    result.balance_db = curve(setting, balance_hz, output_balance_db);
}

/// Unset where direct voltages cannot be solved, which `supply` reports.
SwitchOn guarded_switch_on(Setting& setting) {
    try {
        return setting.switch_on();
    } catch (const Error&) {
        return {};
    }
}

}  // namespace

Behaviour behaviour_of(Setting& setting, const Band& band, std::span<const double> cables_f) {
    Behaviour result;
    const Circuit& circuit = setting.circuit();
    for (std::size_t k = 0; k < headroom_hz.size(); ++k) {
        const double f_hz = headroom_hz[k];
        const bool known = f_hz >= circuit.lowest_hz && f_hz <= circuit.highest_hz;
        if (known) result.headroom[k] = headroom_at(setting, f_hz);
    }
    result.supply_faults = supply_faults_or_none(setting);
    result.max_spl_db = max_spl_db(setting, reference_hz);
    result.self_noise_db_spl = self_noise_db_spl(setting, band);
    result.dynamic_range_db = dynamic_range_db(setting, band);
    result.stability = setting.stability();
    for (const double cable_f : cables_f) {
        result.cables.push_back(
            {cable_f, setting.stability_with_cable(cable_f), margins_at_best(setting, cable_f)});
    }
    result.common_mode_db = curve(setting, common_mode_hz, common_mode_rejection_db);
    add_supplies(setting, band, result);
    result.radio_db = curve(setting, radio_hz, radio_rejection_db);
    result.radio_common_db = curve(setting, radio_hz, radio_common_rejection_db);
    add_output(setting, result);
    result.switch_on = guarded_switch_on(setting);
    return result;
}

}  // namespace lowhiss
