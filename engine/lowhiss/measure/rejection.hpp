#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/part.hpp"
#include "lowhiss/quantity/band.hpp"

namespace lowhiss {

struct Circuit;
class Setting;
enum class CircuitKind;

// How the board rejects unwanted signals. In dB, larger is better; unset if the signal has no way
// into the board, or nothing of it arrives.

/// CMRR: gain of the capsule's signal over that of one which drives both of its ends alike against
/// ground, each through half of the capsule's impedance and one also through the input's
/// `mismatch`, which is in the leg where it does more harm. Unset if an input terminal is ground,
/// and from 240 dB on, where only rounding is left.
double common_mode_rejection_db(Setting& setting, double frequency_hz);

/// The circuit that gives this figure: with the mismatch in the plus leg, or in the minus leg.
CircuitKind common_mode_circuit(Setting& setting, double frequency_hz);

/// Gain of the capsule's signal over that of a ripple in the voltage of a part, or of "feed".
double supply_rejection_db(Setting& setting, double frequency_hz, const std::string& source);

/// Ripple of the feed over what arrives between the output terminals when the feed's two resistors
/// are as unequal as they may be, the one or the other the larger, whichever does more harm. Unset
/// without a feed.
double feed_rejection_db(Setting& setting, double frequency_hz);

/// The names that supply_rejection_db accepts.
std::vector<std::string> supply_sources(Setting& setting);

/// One line of a ripple, or its density over the band, as it arrives.
struct RippleArrival {
    std::string name;
    double frequency_hz = unset;  ///< unset: the density
    double rms_v = unset;         ///< at the source
    double output_v = unset;
    double input_v = unset;  ///< output_v over the gain at 1 kHz
};
std::vector<RippleArrival> ripple_arrivals(Setting& setting, const Band& band);

/// All of the board's ripples at the output together, rms, in dBu.
double ripple_output_dbu(Setting& setting, const Band& band);

/// White noise of a source's voltage, rms over the band, that causes a tenth of the board's own
/// output noise power: ten decibels below it.
double quiet_level_v(Setting& setting, const Band& band, const std::string& source);

/// For a generator in the capsule's place, of 150 ohm between the terminals, or of 300 ohm to each
/// of them and so of 150 ohm to both alike: the voltage against ground that it makes at an open
/// input over the largest one at those input pins of amplifiers that passive parts lead to. Each
/// terminal of an open balanced input has half of the electromotive force between them. Parts are
/// lumped and ideal: the inductance of leads and tracks, some nanohenries, counts only if it is
/// drawn.
double radio_rejection_db(Setting& setting, double frequency_hz);
double radio_common_rejection_db(Setting& setting, double frequency_hz);

/// One entry per node: whether passive parts lead to it from the input terminals. Ground and driven
/// nodes are reached, but nothing is reached through them.
std::vector<bool> passively_reached(const Circuit& circuit);

}  // namespace lowhiss
