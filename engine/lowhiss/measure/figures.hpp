#pragma once

#include <string>
#include <vector>

#include "lowhiss/measure/setting.hpp"

namespace lowhiss {

// Single figures of a setting, as design section 5 defines them. What does not exist is unset:
// a corner outside the searched range, a noise figure without a noisy source, a ratio to a gain of
// zero. Frequencies in Hz.

double gain_db(Setting& setting, double frequency_hz);
double gain_from_terminals_db(Setting& setting, double frequency_hz);
double group_delay_s(Setting& setting, double frequency_hz);
double input_impedance_ohm(Setting& setting, double frequency_hz);
double input_impedance_deg(Setting& setting, double frequency_hz);
double capsule_effect_db(Setting& setting, double frequency_hz);

/// Of the board alone: what the load and the cable take in parallel is left out.
double output_impedance_ohm(Setting& setting, double frequency_hz);

/// Phase continued from 1 kHz, where it lies in (-180, 180].
double phase_deg(Setting& setting, double frequency_hz);

double output_noise_v(Setting& setting, const Band& band);
double ein_v(Setting& setting, const Band& band);
double ein_dbu(Setting& setting, const Band& band);
double ein_a_dbu(Setting& setting, const Band& band);
double ein_468_dbu(Setting& setting, const Band& band);
double noise_figure_db(Setting& setting, const Band& band);
double capsule_noise_rise_db(Setting& setting, const Band& band);

/// One part's share of the output noise power, all its mechanisms together, 0 to 1.
double noise_share(Setting& setting, const Band& band, const std::string& part);

struct PartNoise {
    std::string part;
    double output_v2 = 0;
};

/// Output noise power over the band by part, all its mechanisms together, largest first.
std::vector<PartNoise> noise_by_part(Setting& setting, const Band& band);

/// What a capacitor costs at 20 Hz, in dB; 0 where signal does not pass through it. Unset for a
/// part that is none.
double bass_loss_db(Setting& setting, const std::string& part);

}  // namespace lowhiss
