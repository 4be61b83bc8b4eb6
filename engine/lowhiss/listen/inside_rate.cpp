#include "lowhiss/listen/inside_rate.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lowhiss {
namespace {

constexpr double least_inside_hz = 96000;
constexpr double audio_hz = 20000;
constexpr double narrowest_rate_hz = 44100;  ///< the lowest in common use that carries 20 kHz

}  // namespace

InsideRate inside_rate(double file_hz) {
    InsideRate rate;
    rate.file_hz = file_hz;
    rate.multiple = std::max(1, static_cast<int>(std::ceil(least_inside_hz / file_hz)));
    rate.pass_hz = std::min(audio_hz, file_hz * (audio_hz / narrowest_rate_hz));
    rate.stop_hz = rate.multiple == 1 ? file_hz / 2 : file_hz - rate.pass_hz;
    return rate;
}

double InsideRate::taper(double frequency_hz) const {
    if (frequency_hz <= pass_hz) return 1;
    if (frequency_hz >= stop_hz) return 0;
    const double part = (frequency_hz - pass_hz) / (stop_hz - pass_hz);
    return (1 + std::cos(std::numbers::pi * part)) / 2;
}

}  // namespace lowhiss
