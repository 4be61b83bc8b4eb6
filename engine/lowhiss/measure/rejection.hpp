#pragma once

#include <string>
#include <vector>

#include "lowhiss/measure/setting.hpp"

namespace lowhiss {

/// |T| of the amplifier's loop that has least; unset without a loop.
double loop_gain_db(Setting& setting, double frequency_hz);

// What the board does to signals that nobody wants. All in dB, larger is better; unset where there
// is no such way in, and where nothing at all comes through.

/// Gain of the capsule's signal over that of one which drives both of its ends alike against
/// ground, each through half of the capsule's impedance and one through the input's `mismatch`.
/// Unset where an input terminal is ground, and where nothing comes through: from 240 dB on.
double common_mode_rejection_db(Setting& setting, double frequency_hz);

/// Gain of the capsule's signal over that of a ripple in the voltage of a part, or of "feed".
double supply_rejection_db(Setting& setting, double frequency_hz, const std::string& source);

/// What of a feed's own voltage comes out between the output terminals when its two resistors
/// differ by all that they may: feed over output.
double feed_rejection_db(Setting& setting, double frequency_hz);

/// Names of what supply_rejection_db may be asked of.
std::vector<std::string> supply_sources(Setting& setting);

/// One line of a ripple, or its density over the band, as it arrives.
struct RippleArrival {
    std::string name;
    double frequency_hz = unset;  ///< unset: the density
    double rms_v = unset;         ///< at the source
    double output_v = unset;
    double input_v = unset;  ///< over the gain at 1 kHz, as a hiss is
};
std::vector<RippleArrival> ripple_arrivals(Setting& setting, const Band& band);

/// All of the board's ripples at the output together, rms, in dBu.
double ripple_output_dbu(Setting& setting, const Band& band);

/// White noise of a source's voltage, rms over the band, that adds to the output a tenth of the
/// power that the board's own noise has there: ten decibels under it.
double quiet_level_v(Setting& setting, const Band& band, const std::string& source);

/// From a generator in the capsule's place, of 150 ohm between the terminals, or of 300 ohm to each
/// of them and so of 150 ohm to both alike: its electromotive force over the largest voltage
/// against ground at an input pin of the amplifiers that passive parts lead to. Of lumped, ideal
/// parts: the inductance of leads and tracks, some nanohenries, is not there unless it is drawn.
double radio_rejection_db(Setting& setting, double frequency_hz);
double radio_common_rejection_db(Setting& setting, double frequency_hz);

/// What the board's load and cable take: output open over output loaded.
double output_loss_db(Setting& setting, double frequency_hz);

/// The same for another load; `cable_f` beside it.
double loss_into_db(Setting& setting, double frequency_hz, double load_ohm, double cable_f);

}  // namespace lowhiss
