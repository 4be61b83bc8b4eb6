#include "lowhiss/listen/fourier.hpp"

#include <kissfft.hh>

namespace lowhiss {

struct Fourier::Tables {
    kissfft<double> forward;
};

Fourier::Fourier(std::size_t size)
    : size_(size), tables_(std::make_unique<const Tables>(Tables{{size, false}})) {}

Fourier::~Fourier() = default;

void Fourier::transform(std::span<const std::complex<double>> x,
                        std::span<std::complex<double>> spectrum) const {
    tables_->forward.transform(x.data(), spectrum.data());
}

}  // namespace lowhiss
