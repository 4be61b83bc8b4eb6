#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <span>

namespace lowhiss {

/// The discrete Fourier transform of a power of two of samples, by kissfft.
class Fourier {
  public:
    explicit Fourier(std::size_t size);
    ~Fourier();
    Fourier(const Fourier&) = delete;
    Fourier& operator=(const Fourier&) = delete;

    std::size_t size() const { return size_; }

    /// X[k] = sum of x[n] e^(-2 pi i k n / size). The spans have `size` numbers and do not overlap.
    void transform(std::span<const std::complex<double>> x,
                   std::span<std::complex<double>> spectrum) const;

  private:
    struct Tables;
    std::size_t size_;
    std::unique_ptr<const Tables> tables_;
};

}  // namespace lowhiss
