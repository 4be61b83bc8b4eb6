#include "lowhiss/circuit/model_noise.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>

#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

double thermal_v2_hz(double ohm, double temperature_k) {
    return 4 * boltzmann_j_k * temperature_k * ohm;
}

double at_reference(double density, double corner_hz) {
    return density * density * (1 + corner_hz / reference_hz);
}

/// The root of the sum of the mean squares: voltage noise, current noise in the source, and thermal
/// noise of the source.
double with_source(double voltage_v2_hz, double current_a2_hz, const ModelUse& use) {
    return std::sqrt(voltage_v2_hz + current_a2_hz * use.source_ohm * use.source_ohm +
                     thermal_v2_hz(use.source_ohm, use.temperature_k));
}

bool lacks(const std::vector<std::string_view>& missing,
           std::initializer_list<std::string_view> keys) {
    return std::find_first_of(missing.begin(), missing.end(), keys.begin(), keys.end()) !=
           missing.end();
}

double common_a2_hz(const AmplifierFigures& figures) {
    return at_reference(figures.current_noise_a_rthz, figures.current_noise_corner_hz);
}

}  // namespace

double thermal_noise_v_rthz(double ohm, double temperature_k) {
    return std::sqrt(thermal_v2_hz(ohm, temperature_k));
}

double noise_with_source(const OpAmpModel& model, const ModelUse& use) {
    if (lacks(model.missing, {"voltage_noise", "current_noise"})) return unset;
    return with_source(at_reference(model.voltage_noise_v_rthz, model.voltage_noise_corner_hz),
                       common_a2_hz(model.common), use);
}

double noise_with_source(const PreampIcModel& model, const ModelUse& use) {
    if (lacks(model.missing, {"input_voltage_noise", "output_voltage_noise", "current_noise"}) ||
        !(use.gain >= model.gain_offset)) {
        return unset;
    }
    const double of_output = model.output_voltage_noise_v_rthz / use.gain;
    return with_source(
        at_reference(model.input_voltage_noise_v_rthz, model.input_voltage_noise_corner_hz) +
            of_output * of_output,
        common_a2_hz(model.common), use);
}

double noise_with_source(const BipolarModel& model, const ModelUse& use) {
    const double collector = 2 * elementary_charge_c * use.current_a;
    const double slope_ohm =
        boltzmann_j_k * use.temperature_k / (elementary_charge_c * use.current_a);
    const double series_ohm = use.source_ohm + model.base_ohm + model.emitter_ohm;
    const double of_collector_ohm = slope_ohm + series_ohm / model.current_gain;
    const double base =
        collector / model.current_gain * (1 + model.current_noise_corner_hz / reference_hz);
    return std::sqrt(thermal_v2_hz(series_ohm, use.temperature_k) +
                     collector * of_collector_ohm * of_collector_ohm +
                     base * series_ohm * series_ohm);
}

double noise_with_source(const JfetModel& model, const ModelUse& use) {
    const double siemens = 2 * std::sqrt(model.saturation_a * use.current_a) / model.pinch_off_v;
    const double white_v_rthz = std::isnan(model.voltage_noise_v_rthz)
                                    ? thermal_noise_v_rthz(2.0 / 3 / siemens, use.temperature_k)
                                    : model.voltage_noise_v_rthz;
    return with_source(at_reference(white_v_rthz, model.voltage_noise_corner_hz),
                       2 * elementary_charge_c * model.gate_a, use);
}

}  // namespace lowhiss
