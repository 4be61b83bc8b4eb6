#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/measure_schema.hpp"
#include "lowhiss/board/part.hpp"

namespace lowhiss {

class Setting;

/// Distortion above this fraction is unset: terms of higher order, which are left out, would count
/// as much.
inline constexpr double most_distortion = 0.1;

/// The contribution of one part to the harmonics, as fractions of the fundamental. The phasors of
/// the parts add up to the whole and may cancel, so that these magnitudes may exceed it.
struct PartDistortion {
    std::string part;
    double second;
    double third;
};

/// Harmonics of a sine as fractions of its fundamental. Unset where nothing on the board has a law
/// that distorts, where there is no gain, or for a level of sound without a sensitivity.
struct Distortion {
    double frequency_hz = unset;
    double output_v = unset;  ///< rms of the fundamental
    double second = unset;
    double third = unset;
    double total = unset;  ///< root of the sum of the squares
    /// Whether an amplifier or transistor leaves its range below that level, or `total` would be
    /// above `most_distortion`. Then the harmonics are unset.
    bool clips = false;
    std::vector<PartDistortion> by_part;  ///< largest sum of squares first; none where it clips
};

/// At a given level, by harmonics_of, to the lowest order in the level.
Distortion distortion_at(Setting& setting, double frequency_hz, const ToneLevel& level);

/// At the level of the largest sine by headroom_at; unset if that is unset.
Distortion distortion_of_loudest(Setting& setting, double frequency_hz);

}  // namespace lowhiss
