#include "lowhiss/listen/convolution.hpp"

#include <algorithm>

namespace lowhiss {
namespace {

using Spectrum = std::vector<std::complex<double>>;

/// A spectrum of z = a + i b, both real, taken apart: A[k] and B[k].
std::pair<std::complex<double>, std::complex<double>> parts_of(const Spectrum& z, std::size_t k) {
    const std::complex<double> here = z[k];
    const std::complex<double> mirrored = std::conj(z[k == 0 ? 0 : z.size() - k]);
    return {(here + mirrored) / 2.0, (here - mirrored) / std::complex<double>(0, 2)};
}

}  // namespace

KernelPair::KernelPair(std::span<const double> a, std::span<const double> b)
    : length_(a.size()), fourier_(2 * a.size()) {
    Spectrum time(2 * length_);
    Spectrum bins(2 * length_);
    for (std::size_t n = 0; n < length_; ++n) time[n] = {a[n], b[n]};
    fourier_.transform(time, bins);
    for (std::size_t k = 0; k <= length_; ++k) {
        const auto [in_a, in_b] = parts_of(bins, k);
        a_.push_back(in_a);
        b_.push_back(in_b);
    }
}

Convolution::Convolution(std::shared_ptr<const KernelPair> kernels)
    : kernels_(std::move(kernels)),
      time_(2 * kernels_->length()),
      bins_(2 * kernels_->length()),
      overlap_(kernels_->length()) {}

void Convolution::convolve(std::span<double> a, std::span<double> b) {
    constexpr std::complex<double> i(0, 1);
    const std::size_t length = kernels_->length();
    std::fill(time_.begin(), time_.end(), 0);
    for (std::size_t n = 0; n < length; ++n) time_[n] = {a[n], b[n]};
    kernels_->fourier().transform(time_, bins_);
    // Z = A + i B, conjugated so that the same transform goes back.
    for (std::size_t k = 0; k <= length; ++k) {
        auto [in_a, in_b] = parts_of(bins_, k);
        in_a *= kernels_->a()[k];
        in_b *= kernels_->b()[k];
        const std::size_t mirror = k == 0 ? 0 : 2 * length - k;
        time_[k] = std::conj(in_a + i * in_b);
        time_[mirror] = std::conj(std::conj(in_a) + i * std::conj(in_b));
    }
    kernels_->fourier().transform(time_, bins_);
    const double scale = 1 / static_cast<double>(2 * length);
    for (std::size_t n = 0; n < length; ++n) {
        const std::complex<double> z = std::conj(bins_[n]) * scale + overlap_[n];
        a[n] = z.real();
        b[n] = z.imag();
        overlap_[n] = std::conj(bins_[n + length]) * scale;
    }
}

}  // namespace lowhiss
