#include "sound/passage.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/listen/loudness.hpp"

namespace lowhiss::cli {
namespace {

constexpr std::size_t block_frames = 1U << 15U;

/// Interleaves the samples of the channels, one list each, and empties the lists.
std::vector<double> interleaved(std::vector<std::vector<double>>& channels) {
    const std::size_t count = channels.size();
    std::vector<double> frames(channels.front().size() * count);
    for (std::size_t c = 0; c < count; ++c) {
        for (std::size_t n = 0; n < channels[c].size(); ++n) frames[n * count + c] = channels[c][n];
        channels[c].clear();
    }
    return frames;
}

}  // namespace

double rms_of(SoundReader& voice, const std::function<void(double done_s)>& progress) {
    voice.rewind();
    const auto channels = static_cast<double>(voice.channels());
    double sum = 0;
    std::uint64_t samples = 0;
    for (;;) {
        const std::vector<double> block = voice.read(block_frames);
        if (block.empty()) break;
        for (const double v : block) sum += v * v;
        samples += block.size();
        progress(static_cast<double>(samples) / channels / voice.rate_hz());
    }
    return std::sqrt(sum / static_cast<double>(std::max<std::uint64_t>(samples, 1)));
}

HeardFigures hear(SoundReader& voice, const Passage& passage, const TakeFrames& take,
                  const std::function<void(double done_s)>& progress) {
    voice.rewind();
    const std::size_t channels = voice.channels();
    std::vector<std::unique_ptr<Listener>> listeners;
    for (std::size_t c = 0; c < channels; ++c) {
        const ListenRequest request{passage.heard, passage.seed, static_cast<std::uint32_t>(c)};
        listeners.push_back(std::make_unique<Listener>(*passage.board, passage.kernels, request));
    }
    LoudnessMeter meter(voice.rate_hz(), channels);
    HeardFigures figures;
    std::vector<std::vector<double>> outputs(channels);
    const auto deliver = [&] {
        std::vector<double> frames = interleaved(outputs);
        for (double& v : frames) {
            v /= passage.full_scale_v;
            figures.peak = std::max(figures.peak, std::abs(v));
            if (std::abs(v) > 1) ++figures.over_full_scale;
            v = std::clamp(v, -1.0, 1.0);
        }
        figures.samples += frames.size();
        meter.add(frames);
        for (double& v : frames) {
            v *= passage.playback;
            if (std::abs(v) > 1) ++figures.over_in_playback;
            v = std::clamp(v, -1.0, 1.0);
        }
        return frames.empty() || take(frames);
    };
    std::vector<double> emf;
    double done = 0;
    for (bool more = true; more;) {
        const std::vector<double> block = voice.read(block_frames);
        more = !block.empty();
        for (std::size_t c = 0; c < channels; ++c) {
            emf.clear();
            for (std::size_t k = c; k < block.size(); k += channels) {
                emf.push_back(block[k] * passage.emf_v);
            }
            listeners[c]->process(emf, outputs[c]);
            if (!more) listeners[c]->finish(outputs[c]);
        }
        if (!deliver()) return figures;
        done += static_cast<double>(block.size()) / static_cast<double>(channels);
        progress(done / voice.rate_hz());
    }
    HeardPower power;
    for (const auto& listener : listeners) {
        power.signal_v2 += listener->power().signal_v2 / static_cast<double>(channels);
        power.noise_v2 += listener->power().noise_v2 / static_cast<double>(channels);
        figures.clipped += listener->clipped();
    }
    figures.signal_v = std::sqrt(power.signal_v2);
    figures.noise_v = std::sqrt(power.noise_v2);
    figures.lufs = meter.integrated_lufs();
    return figures;
}

}  // namespace lowhiss::cli
