#pragma once

#include <string>
#include <vector>

#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

class Setting;

// Single figures of a setting. A figure that does not exist is unset, such as a noise figure
// without a noisy source or a ratio to a gain of zero. Gain is output over the capsule's
// electromotive force; noise is referred to the input by the gain at 1 kHz. Each throws as
// Network::respond.

double gain_db(Setting& setting, double frequency_hz);
double gain_from_terminals_db(Setting& setting, double frequency_hz);
double group_delay_s(Setting& setting, double frequency_hz);
double input_impedance_ohm(Setting& setting, double frequency_hz);
double input_impedance_deg(Setting& setting, double frequency_hz);

/// Gain with the capsule's impedance over gain without; 0 for an ideal source.
double capsule_effect_db(Setting& setting, double frequency_hz);

/// The output impedance of the board alone, without its load and cable.
double output_impedance_ohm(Setting& setting, double frequency_hz);

/// Phase of the gain, continued from 1 kHz, where it lies in (-180, 180].
double phase_deg(Setting& setting, double frequency_hz);

/// Polarity of the output against the capsule's electromotive force at 1 kHz: 1 in phase, -1
/// inverted, 0 neither: a phase from 45 to 135 degrees off, either way. Unset without a gain.
double polarity(Setting& setting);

/// The output noise over the band, rms; so are the figures of noise below.
double output_noise_v(Setting& setting, const Band& band);
double ein_v(Setting& setting, const Band& band);
double ein_dbu(Setting& setting, const Band& band);
double ein_a_dbu(Setting& setting, const Band& band);
double ein_468_dbu(Setting& setting, const Band& band);

/// Output noise power over that part of it which the capsule's thermal noise causes.
double noise_figure_db(Setting& setting, const Band& band);

/// Output noise power with the capsule's impedance over that without.
double capsule_noise_rise_db(Setting& setting, const Band& band);

/// One part's share of the output noise power, 0 to 1, all its mechanisms together.
double noise_share(Setting& setting, const Band& band, const std::string& part);

struct PartNoise {
    std::string part;
    double output_v2 = 0;
};

/// Output noise power over the band by part, all its mechanisms together, largest first.
std::vector<PartNoise> noise_by_part(Setting& setting, const Band& band);

/// Loss of gain at 20 Hz by a capacitor, inductor, transformer or the capsule, as in Rolloff, in
/// dB; 0 if it takes no bass by its law. Unset for other parts.
double bass_loss_db(Setting& setting, const std::string& part);

}  // namespace lowhiss
