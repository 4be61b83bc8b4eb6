#pragma once

#include <functional>
#include <memory>
#include <span>

#include "lowhiss/listen/listener.hpp"
#include "sound/sound_file.hpp"
#include "write/listen_report.hpp"

namespace lowhiss::cli {

/// Rms over all channels, re full scale. Throws as SoundReader::read does.
double rms_of(SoundReader& voice, const std::function<void(double done_s)>& progress);

/// A voice through a board into a recorder.
struct Passage {
    const HeardBoard* board = nullptr;
    std::shared_ptr<const KernelPair> kernels;
    double emf_v = 0;         ///< for a sample of full scale
    double full_scale_v = 1;  ///< peak
    double playback = 1;      ///< gain from the recorder to the file
    Heard heard = Heard::all;
    std::uint64_t seed = 1;
};

/// Receives the frames of the file, interleaved samples within full scale. Returns false to stop.
using TakeFrames = std::function<bool(std::span<const double> frames)>;

/// Plays the voice from its beginning, in blocks. Each channel has a board and noise of its own.
HeardFigures hear(SoundReader& voice, const Passage& passage, const TakeFrames& take,
                  const std::function<void(double done_s)>& progress);

}  // namespace lowhiss::cli
