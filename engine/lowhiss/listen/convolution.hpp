#pragma once

#include <complex>
#include <memory>
#include <span>
#include <vector>

#include "lowhiss/listen/fourier.hpp"

namespace lowhiss {

/// The spectra of two kernels of one length, a power of two, for any number of convolutions.
class KernelPair {
  public:
    KernelPair(std::span<const double> a, std::span<const double> b);

    std::size_t length() const { return length_; }
    const Fourier& fourier() const { return fourier_; }
    const std::vector<std::complex<double>>& a() const { return a_; }
    const std::vector<std::complex<double>>& b() const { return b_; }

  private:
    std::size_t length_;
    Fourier fourier_;                          ///< of twice the length
    std::vector<std::complex<double>> a_, b_;  ///< bins up to half its size
};

/// Convolves two streams, each with a kernel of its own, by overlap-add: both travel as real and
/// imaginary part of one transform. The blocks inside are as long as the kernels, wherever the
/// caller cuts the streams, so that the result does not depend on that.
class Convolution {
  public:
    explicit Convolution(std::shared_ptr<const KernelPair> kernels);

    /// Replaces a block of each stream, of the length of the kernels, by the next samples of its
    /// convolution. Cost: two transforms of twice the length.
    void convolve(std::span<double> a, std::span<double> b);

  private:
    std::shared_ptr<const KernelPair> kernels_;
    std::vector<std::complex<double>> time_, bins_;
    std::vector<std::complex<double>> overlap_;  ///< what the last block left for this one
};

}  // namespace lowhiss
