#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "lowhiss/board/part.hpp"

namespace lowhiss::cli {

/// The figures of a heard board. Levels are re a sine of full scale, rms.
struct HeardFigures {
    double signal_v = 0;  ///< rms at the output, before any clip
    double noise_v = 0;
    double peak = 0;                     ///< at the recorder, re full scale, before it limits
    std::uint64_t samples = 0;           ///< of all channels
    std::uint64_t clipped = 0;           ///< by the amplifier
    std::uint64_t over_full_scale = 0;   ///< limited by the recorder
    std::uint64_t over_in_playback = 0;  ///< limited in the file, because --match made them louder
    double lufs = unset;                 ///< of what the recorder has
};

struct ListenedBoard {
    std::string label;  ///< empty if there is one board only
    std::string board, revision, variant, capsule;
    double knob = unset;
    std::vector<std::string> set;
    double gain_1khz_db = unset;
    double emf_v = unset;         ///< rms of the voice; unset if it was left out
    double noise_v = unset;       ///< computed, rms, 20 Hz to 20 kHz
    double noise_db_spl = unset;  ///< computed, A-weighted
    double clip_v = unset;        ///< rms of a sine at 1 kHz
    std::string clip_part;
    bool slews = false;
    double slowest_s = unset;
    double bass_error_db = unset;  ///< HeardBoard::bass_error_db
    HeardFigures heard;
    double playback_db = 0;  ///< gain from the recorder to the file
    double start_s = 0;      ///< where it begins in the file
};

struct ListenReport {
    std::string voice, kind;
    double rate_hz = 0, seconds = 0;
    std::size_t channels = 1;
    double inside_hz = 0;
    std::string level;  ///< as asked: "74 dB SPL"; empty if the voice was left out
    double full_scale_dbu = 4;
    double match_lufs = unset;
    std::string heard = "all";  ///< or "signal", "noise"
    std::uint64_t seed = 1;
    std::string output, format;
    std::vector<ListenedBoard> boards;
};

std::string listen_text(const ListenReport& report, bool bold);
std::string listen_json(const ListenReport& report);

}  // namespace lowhiss::cli
