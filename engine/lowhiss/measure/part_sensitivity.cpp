#include "lowhiss/measure/part_sensitivity.hpp"

#include <cmath>
#include <numbers>

#include "lowhiss/analysis/integrate.hpp"
#include "lowhiss/analysis/weighting.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/output_load.hpp"
#include "lowhiss/measure/rejection.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

/// Step of ln p, p being the part's value. The relative error of the difference quotient is half
/// the step, plus the rounding error divided by the step.
constexpr double value_step = 1e-6;

constexpr double percent = 0.01;
const double db_of_ln = 20 / std::numbers::ln10;        // of a ratio of voltages
const double db_of_ln_power = 10 / std::numbers::ln10;  // of a ratio of powers

template <class Map>
std::vector<double> mapped(const std::vector<Complex>& ln, Map map) {
    std::vector<double> result;
    result.reserve(ln.size());
    for (const Complex& z : ln) result.push_back(map(z));
    return result;
}

std::vector<double> in_db(const std::vector<Complex>& ln) {
    return mapped(ln, [](Complex z) { return percent * db_of_ln * z.real(); });
}

}  // namespace

std::vector<double> difference(std::vector<double> a, const std::vector<double>& b) {
    for (std::size_t k = 0; k < a.size(); ++k) a[k] -= b[k];
    return a;
}

PartSensitivity::PartSensitivity(Setting& setting, std::vector<std::size_t> parts)
    : setting_(setting), parts_(std::move(parts)) {
    values(CircuitKind::real);
}

/// A part's value moves the operating point too, so that each moved board has its own.
std::vector<ValueSlope> PartSensitivity::value_slopes(CircuitKind kind) {
    std::vector<ValueSlope> slopes;
    for (const std::size_t part : parts_) {
        Board moved = setting_.board();
        stray(moved.parts[part], std::expm1(value_step));
        const Circuit beside =
            small_signal_circuit(moved, setting_.capsule(), setting_.angle(), kind);
        slopes.push_back(value_slope(setting_.circuit(kind), beside, value_step));
    }
    return slopes;
}

const std::vector<ValueSlope>& PartSensitivity::values(CircuitKind kind) {
    const auto known = values_.find(kind);
    return known != values_.end() ? known->second
                                  : values_.emplace(kind, value_slopes(kind)).first->second;
}

ResponseSlopes PartSensitivity::response(CircuitKind kind, double frequency_hz) {
    ResponseSlopes slopes = response_slopes(setting_.network(kind), values(kind), frequency_hz);
    for (std::size_t k = 0; k < parts_.size(); ++k) {
        if (values(kind)[k].known) continue;
        slopes.ln_gain[k] = slopes.ln_input_voltage[k] = {unset, unset};
        slopes.ln_input_impedance[k] = slopes.ln_output_impedance[k] = {unset, unset};
        slopes.group_delay_s[k] = unset;
    }
    return slopes;
}

PartSensitivity::Slopes PartSensitivity::none() const {
    Slopes slopes(parts_.size(), unset);
    return slopes;
}

PartSensitivity::Slopes PartSensitivity::gain(double frequency_hz) {
    return in_db(response(CircuitKind::real, frequency_hz).ln_gain);
}

PartSensitivity::Slopes PartSensitivity::gain_from_terminals(double frequency_hz) {
    const ResponseSlopes slopes = response(CircuitKind::real, frequency_hz);
    return difference(in_db(slopes.ln_gain), in_db(slopes.ln_input_voltage));
}

PartSensitivity::Slopes PartSensitivity::capsule_effect(double frequency_hz) {
    return difference(gain(frequency_hz),
                      in_db(response(CircuitKind::ideal, frequency_hz).ln_gain));
}

PartSensitivity::Slopes PartSensitivity::common_mode_rejection(double frequency_hz) {
    if (std::isnan(common_mode_rejection_db(setting_, frequency_hz))) return none();
    return difference(gain(frequency_hz),
                      in_db(response(CircuitKind::common, frequency_hz).ln_gain));
}

PartSensitivity::Slopes PartSensitivity::phase(double frequency_hz) {
    return mapped(response(CircuitKind::real, frequency_hz).ln_gain,
                  [](Complex z) { return percent * z.imag() * 180 / std::numbers::pi; });
}

PartSensitivity::Slopes PartSensitivity::group_delay(double frequency_hz) {
    Slopes slopes = response(CircuitKind::real, frequency_hz).group_delay_s;
    for (double& slope : slopes) slope *= percent;
    return slopes;
}

PartSensitivity::Slopes PartSensitivity::input_impedance(double frequency_hz) {
    return mapped(response(CircuitKind::real, frequency_hz).ln_input_impedance,
                  [](Complex z) { return z.real(); });
}

/// Slopes of Z / (1 - Z Y), the output impedance without the load Y.
PartSensitivity::Slopes PartSensitivity::output_impedance(double frequency_hz) {
    const Complex loaded_ohm = setting_.at(frequency_hz).output_impedance_ohm;
    const Complex load = load_siemens(setting_.board().output, frequency_hz);
    const Complex factor = 1.0 / (1.0 - loaded_ohm * load);
    return mapped(response(CircuitKind::real, frequency_hz).ln_output_impedance,
                  [&](Complex z) { return (z * factor).real(); });
}

/// The corner moves until the gain there has changed as much as that at 1 kHz.
PartSensitivity::Slopes PartSensitivity::corner(double frequency_hz) {
    if (!std::isfinite(frequency_hz)) return none();
    const Response& response = setting_.at(frequency_hz);
    const double steepness =
        2 * std::numbers::pi * frequency_hz * (response.gain_slope_s / response.gain).real();
    Slopes result = difference(gain(reference_hz), gain(frequency_hz));
    for (double& slope : result) slope /= percent * db_of_ln * steepness;
    return result;
}

/// Slopes of the noise power of the groups that count, in dB.
PartSensitivity::Slopes PartSensitivity::noise(CircuitKind kind, const Band& band,
                                               Weighting weighting, const std::vector<bool>& counts,
                                               double* power_v2) {
    Network& network = setting_.network(kind);
    const std::vector<ValueSlope>& parts = this->values(kind);
    const std::size_t count = 1 + parts.size();
    const auto densities = [&](std::span<const double> frequency_hz, std::span<double> values) {
        for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
            const double f_hz = frequency_hz[k];
            const NoiseSlopes s = noise_slopes(network, parts, f_hz, counts);
            const double w = weighting == Weighting::a       ? a_weighting(f_hz)
                             : weighting == Weighting::bs468 ? itu_r_468_weighting(f_hz)
                                                             : 1;
            const auto at = values.subspan(k * count, count);
            at[0] = w * w * s.v2_hz;
            for (std::size_t i = 1; i < count; ++i) at[i] = w * w * s.slope_v2_hz[i - 1];
        }
    };
    const std::vector<double> integral = integrate_over_band(
        densities, count, 1, band.from_hz, band.to_hz, sharp_frequencies_hz(network));
    if (power_v2) *power_v2 = integral.front();
    Slopes result(integral.begin() + 1, integral.end());
    for (std::size_t k = 0; k < result.size(); ++k) {
        result[k] *= parts[k].known ? percent * db_of_ln_power / integral.front() : unset;
    }
    return result;
}

PartSensitivity::Slopes PartSensitivity::all_noise(CircuitKind kind, const Band& band,
                                                   Weighting weighting) {
    const std::vector<bool> all(setting_.circuit(kind).noise_groups.size(), true);
    return noise(kind, band, weighting, all);
}

PartSensitivity::Slopes PartSensitivity::output_noise(const Band& band) {
    return all_noise(CircuitKind::real, band, Weighting::none);
}

PartSensitivity::Slopes PartSensitivity::referred(const Band& band, Weighting weighting) {
    return difference(all_noise(CircuitKind::real, band, weighting), gain(reference_hz));
}

PartSensitivity::Slopes PartSensitivity::noise_figure(const Band& band) {
    std::vector<bool> counts;
    for (const NoiseGroup& group : setting_.circuit().noise_groups) {
        counts.push_back(group.part == capsule_part && group.mechanism == Mechanism::thermal);
    }
    return difference(output_noise(band), noise(CircuitKind::real, band, Weighting::none, counts));
}

PartSensitivity::Slopes PartSensitivity::noise_share(const Band& band, const std::string& part) {
    const auto& groups = setting_.circuit().noise_groups;
    std::vector<bool> counts;
    counts.reserve(groups.size());
    for (const NoiseGroup& group : groups) counts.push_back(group.part == part);
    double of_part_v2 = 0;
    double of_all_v2 = 0;
    const auto slopes = [&](const std::vector<bool>& counted, double& power_v2) {
        return noise(CircuitKind::real, band, Weighting::none, counted, &power_v2);
    };
    const Slopes part_db = slopes(counts, of_part_v2);
    const Slopes all_db = slopes(std::vector<bool>(groups.size(), true), of_all_v2);
    Slopes result = difference(part_db, all_db);
    for (double& slope : result) slope *= of_part_v2 / of_all_v2 / db_of_ln_power;
    return result;
}

PartSensitivity::Slopes PartSensitivity::capsule_noise_rise(const Band& band) {
    return difference(output_noise(band), all_noise(CircuitKind::ideal, band, Weighting::none));
}

}  // namespace lowhiss
