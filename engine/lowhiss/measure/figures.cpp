#include "lowhiss/measure/figures.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/analysis/phase.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/output_load.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

constexpr double degrees = 180 / std::numbers::pi;

double ratio_db(Complex ratio) {
    return or_unset(db_from_ratio(std::abs(ratio)));
}

double referred_dbu(Setting& setting, double power_v2) {
    return or_unset(dbu_from_v(std::sqrt(power_v2) / std::abs(setting.at(reference_hz).gain)));
}

}  // namespace

double gain_db(Setting& setting, double frequency_hz) {
    return ratio_db(setting.at(frequency_hz).gain);
}

double gain_from_terminals_db(Setting& setting, double frequency_hz) {
    const Response& r = setting.at(frequency_hz);
    return ratio_db(r.gain / r.input_voltage);
}

double group_delay_s(Setting& setting, double frequency_hz) {
    return or_unset(group_delay_s(setting.at(frequency_hz)));
}

double input_impedance_ohm(Setting& setting, double frequency_hz) {
    return or_unset(std::abs(setting.at(frequency_hz).input_impedance_ohm));
}

double input_impedance_deg(Setting& setting, double frequency_hz) {
    return or_unset(std::arg(setting.at(frequency_hz).input_impedance_ohm) * degrees);
}

double capsule_effect_db(Setting& setting, double frequency_hz) {
    if (!setting.has_capsule()) return 0;
    return ratio_db(setting.at(frequency_hz).gain / setting.ideal_at(frequency_hz).gain);
}

double output_impedance_ohm(Setting& setting, double frequency_hz) {
    const Complex loaded_ohm = setting.at(frequency_hz).output_impedance_ohm;
    const Complex load = load_siemens(setting.board().output, frequency_hz);
    return or_unset(std::abs(unloaded_ohm(loaded_ohm, load)));
}

double phase_deg(Setting& setting, double frequency_hz) {
    const std::vector<Response> one{setting.at(frequency_hz)};
    return or_unset(unwrapped_phase(setting.network(), one, reference_hz).front() * degrees);
}

double polarity(Setting& setting) {
    const Complex gain = setting.at(reference_hz).gain;
    if (!(std::abs(gain) > 0) || !std::isfinite(std::abs(gain))) return unset;
    if (std::abs(gain.imag()) >= std::abs(gain.real())) return 0;
    return gain.real() > 0 ? 1 : -1;
}

double output_noise_v(Setting& setting, const Band& band) {
    return std::sqrt(setting.noise(band).power_v2);
}

double ein_v(Setting& setting, const Band& band) {
    return or_unset(output_noise_v(setting, band) / std::abs(setting.at(reference_hz).gain));
}

double ein_dbu(Setting& setting, const Band& band) {
    return referred_dbu(setting, setting.noise(band).power_v2);
}

double ein_a_dbu(Setting& setting, const Band& band) {
    return referred_dbu(setting, setting.noise(band).a_weighted_v2);
}

double ein_468_dbu(Setting& setting, const Band& band) {
    return referred_dbu(setting, setting.noise(band).weighted_468_v2);
}

double noise_figure_db(Setting& setting, const Band& band) {
    const auto& groups = setting.circuit().noise_groups;
    const OutputNoise& noise = setting.noise(band);
    for (std::size_t k = 0; k < groups.size(); ++k) {
        if (groups[k].part == capsule_part && groups[k].mechanism == Mechanism::thermal) {
            return or_unset(db_from_power_ratio(noise.power_v2 / noise.by_group_v2[k]));
        }
    }
    return unset;
}

double capsule_noise_rise_db(Setting& setting, const Band& band) {
    return or_unset(
        db_from_power_ratio(setting.noise(band).power_v2 / setting.ideal_noise_v2(band)));
}

double noise_share(Setting& setting, const Band& band, const std::string& part) {
    const auto& groups = setting.circuit().noise_groups;
    const OutputNoise& noise = setting.noise(band);
    double power_v2 = 0;
    for (std::size_t k = 0; k < groups.size(); ++k) {
        if (groups[k].part == part) power_v2 += noise.by_group_v2[k];
    }
    return or_unset(power_v2 / noise.power_v2);
}

std::vector<PartNoise> noise_by_part(Setting& setting, const Band& band) {
    const auto& groups = setting.circuit().noise_groups;
    const OutputNoise& noise = setting.noise(band);
    std::vector<PartNoise> parts;
    for (std::size_t k = 0; k < groups.size(); ++k) {
        if (parts.empty() || parts.back().part != groups[k].part) {
            parts.push_back({groups[k].part, 0});
        }
        parts.back().output_v2 += noise.by_group_v2[k];
    }
    std::stable_sort(parts.begin(), parts.end(), [](const PartNoise& a, const PartNoise& b) {
        return a.output_v2 > b.output_v2;
    });
    return parts;
}

double bass_loss_db(Setting& setting, const std::string& part) {
    for (const PartRolloff& entry : setting.rolloff()) {
        if (entry.part == part) return entry.rolloff.in_the_way ? entry.rolloff.loss_db : 0;
    }
    return unset;
}

}  // namespace lowhiss
