#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// y[n] = b0 x[n] + b1 x[n-1] + b2 x[n-2] - a1 y[n-1] - a2 y[n-2]
struct Biquad {
    double b0 = 1, b1 = 0, b2 = 0, a1 = 0, a2 = 0;
};

/// The two stages of K weighting (ITU-R BS.1770-4, Annex 1, tables 1 and 2, which are for 48 kHz)
/// at a sampling rate. For other rates each is taken back to its analogue law by the bilinear
/// transform that is exact at its own corner frequency, and from there to that rate.
std::array<Biquad, 2> k_weighting(double rate_hz);

/// Loudness by ITU-R BS.1770-4: K weighting, blocks of 400 ms that overlap by three quarters, gated
/// at -70 LKFS and then at 10 LU below the loudness of the remaining blocks. Full scale is 1. One
/// or two channels, of equal weight.
class LoudnessMeter {
  public:
    LoudnessMeter(double rate_hz, std::size_t channels);

    /// Adds interleaved samples of the channels.
    void add(std::span<const double> frames);

    /// In LUFS; unset for less than one block, or if no block passes the gates.
    double integrated_lufs() const;

  private:
    struct State {
        double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
    };
    std::size_t channels_;
    std::array<Biquad, 2> stages_;
    std::vector<std::array<State, 2>> states_;
    std::size_t step_frames_;  ///< 100 ms
    std::size_t in_step_ = 0;
    double step_sum_ = 0;
    std::vector<double> steps_;  ///< weighted power of each 100 ms, the sum over the channels
};

}  // namespace lowhiss
