#include "lowhiss/measure/distortion.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/decibel.hpp"

namespace lowhiss {
namespace {

/// The largest sine itself does not clip.
constexpr double clip_slack = 1e-9;

/// Rms electromotive force that has the level; unset where there is none.
double emf_of(Setting& setting, const ToneLevel& level, double gain) {
    return level.is_sound ? sound_emf_v(setting, level.db) : v_from_dbu(level.db) / gain;
}

Distortion distortion_of(Setting& setting, double frequency_hz, double emf_v,
                         const Headroom& headroom) {
    const Harmonics& harmonics = setting.harmonics(frequency_hz);
    const double gain = std::abs(harmonics.gain);
    Distortion found;
    found.frequency_hz = frequency_hz;
    if (harmonics.by_part.empty() || !(gain > 0) || !std::isfinite(emf_v)) return found;
    found.output_v = emf_v * gain;
    if (emf_v > headroom.input_v * (1 + clip_slack)) {
        found.clips = true;
        return found;
    }
    const double peak_v = std::numbers::sqrt2 * emf_v;
    const auto second = [&](Complex volts) { return std::abs(volts) * peak_v / gain; };
    const auto third = [&](Complex volts) { return std::abs(volts) * peak_v * peak_v / gain; };
    const double total = std::hypot(second(harmonics.second), third(harmonics.third));
    if (!(total <= most_distortion)) {
        found.clips = true;
        return found;
    }
    found.second = second(harmonics.second);
    found.third = third(harmonics.third);
    found.total = total;
    for (const PartHarmonics& part : harmonics.by_part) {
        const auto index = static_cast<std::size_t>(part.part);
        found.by_part.push_back(
            {setting.circuit().parts[index].name, second(part.second), third(part.third)});
    }
    std::stable_sort(found.by_part.begin(), found.by_part.end(),
                     [](const PartDistortion& a, const PartDistortion& b) {
                         return std::hypot(a.second, a.third) > std::hypot(b.second, b.third);
                     });
    return found;
}

}  // namespace

Distortion distortion_at(Setting& setting, double frequency_hz, const ToneLevel& level) {
    const Headroom headroom = headroom_at(setting, frequency_hz);
    const double gain = std::abs(setting.harmonics(frequency_hz).gain);
    return distortion_of(setting, frequency_hz, emf_of(setting, level, gain), headroom);
}

Distortion distortion_of_loudest(Setting& setting, double frequency_hz) {
    const Headroom headroom = headroom_at(setting, frequency_hz);
    return distortion_of(setting, frequency_hz, headroom.input_v, headroom);
}

}  // namespace lowhiss
