#include "lowhiss/series/random_board.hpp"

#include <Random123/philox.h>

#include <boost/crc.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>

namespace lowhiss {
namespace {

std::uint32_t low(std::uint64_t word) {
    return static_cast<std::uint32_t>(word);
}
std::uint32_t high(std::uint64_t word) {
    return static_cast<std::uint32_t>(word >> 32U);
}

/// Uniform within (0, 1), from 53 bits.
double uniform(const BoardSeries& series, std::uint64_t index, const Draw& draw) {
    boost::crc_32_type sum;
    sum.process_bytes(draw.name.data(), draw.name.size());
    const r123::Philox4x32::ctr_type counter{
        {low(index), high(index), sum.checksum(), static_cast<std::uint32_t>(draw.kind)}};
    const r123::Philox4x32::key_type key{{low(series.seed), high(series.seed)}};
    const auto words = r123::Philox4x32()(counter, key);
    const std::uint64_t bits = (std::uint64_t{words[1]} << 32U | words[0]) >> 11U;
    return std::ldexp(static_cast<double>(bits) + 0.5, -53);
}

/// The ends of a tolerance in a normal distribution.
constexpr double ends_sigma = 3;

/// Inverse CDF of the deviation, as a fraction of the value.
double deviation(const Draw& range, Distribution distribution, double u) {
    const double reach = (range.high - range.low) / 2;
    if (distribution == Distribution::uniform)
        return (range.low + range.high) / 2 + reach * (2 * u - 1);
    if (!(reach > 0)) return range.low;
    // The probability of each side is in proportion to its width, so that the density has no step.
    const double below = -range.low / (2 * reach);
    const double quantile_at = u < below ? u / (2 * below) : 0.5 + (u - below) / (2 * (1 - below));
    const boost::math::normal_distribution<> normal;
    const double cut = cdf(normal, -ends_sigma);  // the part cut off on each side
    const double sigmas = quantile(normal, cut + quantile_at * (1 - 2 * cut));
    return (u < below ? -range.low : range.high) * (sigmas / ends_sigma);
}

}  // namespace

double drawn_by(const BoardSeries& series, std::uint64_t index, const Draw& draw) {
    const double u = uniform(series, index, draw);
    return draw.kind == DrawKind::temperature ? std::lerp(draw.low, draw.high, u)
                                              : deviation(draw, series.distribution, u);
}

Board random_board(const Board& board, const BoardSeries& series, std::uint64_t index) {
    return board_with(board, [&](const Draw& draw) { return drawn_by(series, index, draw); });
}

}  // namespace lowhiss
