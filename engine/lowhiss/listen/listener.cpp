#include "lowhiss/listen/listener.hpp"

#include <algorithm>

namespace lowhiss {
namespace {

/// A board without a known limit does not clip.
double clip_v_of(const HeardBoard& board) {
    if (board.clip_v > 0) return board.clip_v;
    return infinite;
}

}  // namespace

Listener::Listener(const HeardBoard& board, std::shared_ptr<const KernelPair> kernels,
                   const ListenRequest& request)
    : request_(request),
      multiple_(static_cast<std::size_t>(board.rate.multiple)),
      skip_(board.ahead),
      convolution_(std::move(kernels)),
      clipper_(board.rate, clip_v_of(board)),
      random_(request.seed, request.channel),
      signal_(board.signal_kernel.size()),
      noise_(board.noise_kernel.size()) {
    // The noise is stationary from the first sample on: a block of it is convolved before and
    // discarded.
    fill_noise();
    convolution_.convolve(signal_, noise_);
    std::fill(signal_.begin(), signal_.end(), 0);
}

void Listener::fill_noise() {
    for (double& sample : noise_) {
        sample = request_.heard == Heard::signal ? 0 : random_.white(noise_samples_);
        ++noise_samples_;
    }
}

/// Convolves a full block.
void Listener::convolve() {
    fill_noise();
    convolution_.convolve(signal_, noise_);
    stream_.clear();
    for (std::size_t k = 0; k < signal_.size(); ++k) {
        if (skip_ > 0) {
            --skip_;
            continue;
        }
        stream_.push_back(signal_[k] + noise_[k]);
        // Every sample that the file gets is counted, and none of those after its end.
        if (inside_++ % multiple_ != 0 || summed_ >= received_) continue;
        sum_.signal_v2 += signal_[k] * signal_[k];
        sum_.noise_v2 += noise_[k] * noise_[k];
        ++summed_;
    }
    clipper_.process(stream_, waiting_);
    std::fill(signal_.begin(), signal_.end(), 0);
    filled_ = 0;
}

/// One sample at the file's rate: zeros between these leave the spectrum as it is below half of it.
void Listener::push(double emf_v) {
    const auto multiple = static_cast<double>(multiple_);
    for (std::size_t k = 0; k < multiple_; ++k) {
        if (filled_ == signal_.size()) convolve();
        signal_[filled_++] = k == 0 ? emf_v * multiple : 0;
    }
}

void Listener::take(std::size_t count, std::vector<double>& output_v) {
    const auto end = waiting_.begin() + static_cast<std::ptrdiff_t>(count);
    output_v.insert(output_v.end(), waiting_.begin(), end);
    waiting_.erase(waiting_.begin(), end);
    given_ += count;
}

void Listener::process(std::span<const double> emf_v, std::vector<double>& output_v) {
    for (const double v : emf_v) {
        ++received_;
        push(request_.heard == Heard::noise ? 0 : v);
    }
    take(waiting_.size(), output_v);
}

void Listener::finish(std::vector<double>& output_v) {
    clipper_.count_up_to(received_);
    while (given_ + waiting_.size() < received_) push(0);
    take(static_cast<std::size_t>(received_ - given_), output_v);
}

HeardPower Listener::power() const {
    const auto count = static_cast<double>(std::max<std::uint64_t>(1, summed_));
    return {sum_.signal_v2 / count, sum_.noise_v2 / count};
}

}  // namespace lowhiss
