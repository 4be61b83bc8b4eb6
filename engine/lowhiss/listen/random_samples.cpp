#include "lowhiss/listen/random_samples.hpp"

#include <Random123/philox.h>

#include <cmath>

namespace lowhiss {
namespace {

r123::Philox4x32::ctr_type random_words(std::uint64_t seed, std::uint32_t stream,
                                        std::uint64_t number, std::uint32_t part) {
    const auto low = [](std::uint64_t word) { return static_cast<std::uint32_t>(word); };
    const auto high = [](std::uint64_t word) { return static_cast<std::uint32_t>(word >> 32U); };
    const r123::Philox4x32::key_type key{{low(seed), high(seed)}};
    return r123::Philox4x32()({{low(number), high(number), stream, part}}, key);
}

}  // namespace

double RandomSamples::white(std::uint64_t number) const {
    // 16 numbers of 16 bits, each with the mean (2^16 - 1) / 2 and the variance (2^32 - 1) / 12.
    static const double spread = std::sqrt(16 * (4294967296.0 - 1) / 12);
    std::int64_t sum = 0;
    for (const std::uint32_t part : {0U, 1U}) {
        for (const std::uint32_t word : random_words(seed_, stream_, number, part)) {
            sum += (word & 0xFFFFU) + (word >> 16U);
        }
    }
    return (static_cast<double>(sum) - 8 * 65535.0) / spread;
}

double RandomSamples::triangular(std::uint64_t number) const {
    const auto words = random_words(seed_, stream_, number, 2);
    return std::ldexp(static_cast<double>(words[0]) - static_cast<double>(words[1]), -32);
}

}  // namespace lowhiss
