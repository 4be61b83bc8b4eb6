#pragma once

#include <complex>
#include <cstddef>
#include <string>
#include <vector>

#include "lowhiss/board/part.hpp"
#include "lowhiss/listen/inside_rate.hpp"

namespace lowhiss {

class Setting;

// A heard board is what a board does to sound, from its exact response. The complex gain H and the
// noise density S are solved at every bin of a transform of `size` samples at the inside rate R.
// The impulse response is the inverse transform of H times the taper; filtering white noise of
// variance 1 by the inverse transform of sqrt(S R / 2) times the taper makes noise of the density
// S. Beyond the range of a measured capsule these take its impedance at the nearest end.

/// One assembly at one rotation, ready to be heard at one rate.
struct HeardBoard {
    InsideRate rate;
    std::vector<double> signal_kernel;  ///< output volts for an emf of 1 V, `ahead` samples late
    std::vector<double> noise_kernel;   ///< of the same length, a power of two
    std::size_t ahead = 0;              ///< the taper rings before its time by at most that

    double slowest_s = unset;  ///< time constant of the slowest natural frequency that is heard
    /// If the kernel is shorter than 13.8 of those: the largest error of the gain at 20 Hz, between
    /// the bins, in dB re the gain at 1 kHz.
    double bass_error_db = unset;

    double clip_v = unset;  ///< peak of the output at which the first amplifier clips at 1 kHz
    std::string clip_part;
    bool slews = false;  ///< it slews there before it clips
};

/// The kernel is as long as 13.8 time constants, after which a natural frequency is down by 120 dB,
/// of the slowest one that has a millionth of the gain or more; at most 2^20 samples. Throws Error:
/// no_unique_solution for a board that oscillates or latches up, and as Network::respond does.
HeardBoard heard_board(Setting& setting, double file_rate_hz);

}  // namespace lowhiss
