#pragma once

#include <cstdint>

namespace lowhiss {

/// Random samples by their number, so that a sample depends on no other: Philox4x32-10 (Salmon et
/// al., "Parallel random numbers: as easy as 1, 2, 3", SC11, 2011) of seed, stream and number. All
/// sums are of integers, so that the samples are the same on every machine.
class RandomSamples {
  public:
    RandomSamples(std::uint64_t seed, std::uint32_t stream) : seed_(seed), stream_(stream) {}

    /// White, of mean 0 and variance 1: the sum of 16 uniform numbers, of kurtosis 2.925, which a
    /// filter of more than a few samples makes practically Gaussian.
    double white(std::uint64_t number) const;

    /// The difference of two uniform numbers within (0, 1): dither of triangular density.
    double triangular(std::uint64_t number) const;

  private:
    std::uint64_t seed_;
    std::uint32_t stream_;
};

}  // namespace lowhiss
