#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "lowhiss/listen/clipper.hpp"
#include "lowhiss/listen/convolution.hpp"
#include "lowhiss/listen/heard_board.hpp"
#include "lowhiss/listen/random_samples.hpp"

namespace lowhiss {

/// Which sound is written: voice and noise, or one of them alone.
enum class Heard { all, signal, noise };

struct ListenRequest {
    Heard heard = Heard::all;
    std::uint64_t seed = 1;     ///< of the noise
    std::uint32_t channel = 0;  ///< each has noise of its own
};

/// Mean squares at the output, before the clip, in V^2.
struct HeardPower {
    double signal_v2 = 0;
    double noise_v2 = 0;
};

/// Sound through a board: from the capsule's electromotive force to the output voltage, sample by
/// sample at the file's rate, without delay. The output depends on the input and the seed, not on
/// how the caller divides the input into blocks.
///
/// One channel. Cost: two transforms of twice the kernel for each kernel's length of sound. Memory:
/// a few times the kernel, however long the sound.
class Listener {
  public:
    /// `kernels` has the spectra of the signal kernel and the noise kernel of `board`, in that
    /// order.
    Listener(const HeardBoard& board, std::shared_ptr<const KernelPair> kernels,
             const ListenRequest& request);

    /// Appends the output samples that are known by now.
    void process(std::span<const double> emf_v, std::vector<double>& output_v);

    /// Appends the rest: after it as many samples have come out as went in.
    void finish(std::vector<double>& output_v);

    HeardPower power() const;
    std::size_t clipped() const { return clipper_.clipped(); }

  private:
    void push(double emf_v);
    void fill_noise();
    void convolve();
    void take(std::size_t count, std::vector<double>& output_v);

    ListenRequest request_;
    std::size_t multiple_;
    std::size_t skip_;  ///< samples at the inside rate that come before time 0
    Convolution convolution_;
    Clipper clipper_;
    RandomSamples random_;
    std::uint64_t noise_samples_ = 0;
    std::vector<double> signal_, noise_;  ///< a block at the inside rate
    std::size_t filled_ = 0;
    std::vector<double> stream_, waiting_;
    std::uint64_t received_ = 0, given_ = 0, summed_ = 0, inside_ = 0;
    HeardPower sum_;
};

}  // namespace lowhiss
