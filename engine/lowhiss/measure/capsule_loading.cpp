#include "lowhiss/measure/capsule_loading.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/analysis/capsule_impedance.hpp"
#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

constexpr double bridging = 10;

}  // namespace

double loading_loss_db(Setting& setting, double frequency_hz) {
    return or_unset(-db_from_ratio(std::abs(setting.at(frequency_hz).input_voltage)));
}

CapsuleLoading capsule_loading(Setting& setting, const Band& band) {
    if (!setting.has_capsule()) return {};
    const Circuit& circuit = setting.circuit();
    const Band known{std::max(band.from_hz, circuit.lowest_hz),
                     std::min(band.to_hz, circuit.highest_hz)};
    if (!(known.from_hz < known.to_hz)) return {};
    setting.prepare(scan_frequencies_hz(known, setting.resonances_hz()));
    const auto curve = [&](double f_hz) { return loading_loss_db(setting, f_hz); };
    const Extreme most = extremes_over_band(curve, known, setting.resonances_hz()).largest;
    if (std::isnan(most.at_hz)) return {};
    CapsuleLoading loading;
    loading.loss_db = most.value;
    loading.at_hz = most.at_hz;
    loading.loss_1khz_db = loading_loss_db(setting, reference_hz);
    loading.input_ohm = input_impedance_ohm(setting, most.at_hz);
    loading.capsule_ohm = std::abs(impedance_of(setting.capsule(), most.at_hz));
    loading.wants_ohm = bridging * loading.capsule_ohm;
    return loading;
}

}  // namespace lowhiss
