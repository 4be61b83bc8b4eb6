#pragma once

#include <string>

#include "lowhiss/board/part.hpp"
#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

class Setting;

/// The largest sine before the first amplifier clips or slews, or the first transistor cuts off or
/// saturates.
struct Headroom {
    double frequency_hz = unset;
    double input_v = unset;   ///< rms electromotive force of a sine; unset where no rail is known
    double output_v = unset;  ///< rms, at that input
    std::string part;         ///< the amplifier or transistor that clips or slews first
    bool slews = false;       ///< true: it slews; false: it clips
};

/// Computed from each amplifier's swing about its direct output voltage at the nominal supply, and
/// from its slew rate, of which a sine of amplitude a needs 2 pi f a; and from each transistor's
/// current and voltage at rest, if it is active there. The response is taken to be linear up to
/// that input. Unset if an amplifier's supply pins are not drawn, or nothing amplifies.
Headroom headroom_at(Setting& setting, double frequency_hz);

double max_input_dbu(Setting& setting, double frequency_hz);
double max_output_dbu(Setting& setting, double frequency_hz);

// These need the capsule's sensitivity and are unset without it. Sound pressure levels are re 20
// uPa.
double max_spl_db(Setting& setting, double frequency_hz);
double self_noise_db_spl(Setting& setting, const Band& band);  ///< A-weighted
/// Output over the board's load, in dBu, at a sound pressure of 1 Pa.
double output_level_dbu(Setting& setting, double frequency_hz);

/// Largest input at 1 kHz over the equivalent input noise, A-weighted.
double dynamic_range_db(Setting& setting, const Band& band);

/// Sound pressure level of a voltage from a capsule.
double db_spl(double rms_v, double sensitivity_v_pa);

/// The inverse: the rms electromotive force of the board's capsule at a sound pressure level.
double sound_emf_v(Setting& setting, double level_db_spl);

}  // namespace lowhiss
