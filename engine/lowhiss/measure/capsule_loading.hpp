#pragma once

#include "lowhiss/board/part.hpp"
#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

class Setting;

/// A capsule that loses more than this, half the power, by loading does not suit the input.
inline constexpr double most_loading_db = 3.0102999566398120;

/// The loss of a capsule's voltage into the input impedance, where it is largest in a band.
struct CapsuleLoading {
    double loss_db = unset;  ///< electromotive force over the voltage between the terminals
    double at_hz = unset;
    double loss_1khz_db = unset;
    double input_ohm = unset;  ///< magnitudes at `at_hz`
    double capsule_ohm = unset;
    /// The least input impedance that suits the capsule: ten times its own. Common practice, no
    /// source.
    double wants_ohm = unset;

    bool suits() const { return !(loss_db > most_loading_db); }
};

/// Loss by loading at one frequency, in dB; 0 for an ideal source.
double loading_loss_db(Setting& setting, double frequency_hz);

/// Unset for an ideal source. The band is narrowed to the range of a measured capsule.
CapsuleLoading capsule_loading(Setting& setting, const Band& band);

}  // namespace lowhiss
