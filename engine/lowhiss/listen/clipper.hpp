#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "lowhiss/listen/inside_rate.hpp"

namespace lowhiss {

/// A hard, symmetrical clip of a stream at the inside rate, and the way back to the file's rate.
///
/// The harmonics of a clipped sine have no upper end, and those above half the sampling rate alias.
/// So the stream u is interpolated to eight times the inside rate, and the excess there, e =
/// clip(u) - u, is limited to the band of the file and added to the stream. If nothing clips, e is
/// 0 and the stream passes unchanged, to the bit. Filters are sincs in a Kaiser window of 100 dB
/// (Kaiser, "Nonrecursive digital filter design using the I0-sinh window function", ISCAS 1974).
class Clipper {
  public:
    /// `limit` is the peak that is left; infinite for no clip at all.
    Clipper(const InsideRate& rate, double limit);

    /// Appends the samples at the file's rate that are known by now.
    void process(std::span<const double> stream, std::vector<double>& out);

    /// The rest of them, up to the last multiple of the stream.
    void finish(std::vector<double>& out);

    /// Samples at the file's rate during which the clip took something off.
    std::size_t clipped() const { return clipped_; }
    /// Only the first `samples` are counted.
    void count_up_to(std::uint64_t samples) { counted_ = samples; }

  private:
    void extend_excess();
    void emit(std::vector<double>& out, std::size_t available);

    std::size_t multiple_;
    double limit_;
    std::vector<double> up_;    ///< interpolation, by phase: 8 rows of `up_length`
    std::vector<double> down_;  ///< symmetrical, of an odd length, at eight times the inside rate
    double up_gain_ = 0;        ///< the stream grows by no more between its samples

    std::vector<double> stream_;  ///< from `first_`, padded by zeros before the beginning
    std::vector<double> excess_;  ///< e, eight for each sample of the stream from `first_`
    std::vector<char> any_;       ///< whether one of the eight is not 0
    std::size_t done_ = 0;        ///< samples of the stream whose excess is known
    std::size_t next_ = 0;        ///< place of the next output sample in `stream_`
    std::size_t padding_;         ///< zeros before the first sample
    std::size_t reach_;           ///< samples of the stream that `down_` reaches to each side
    std::size_t clipped_ = 0;
    std::uint64_t emitted_ = 0;
    std::uint64_t counted_ = ~std::uint64_t{0};
};

}  // namespace lowhiss
