#include "sound/sound_file.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <limits>

#include "lowhiss/listen/random_samples.hpp"
#include "lowhiss/text/file_reader.hpp"
#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

constexpr int lowest_rate_hz = 8000;
constexpr int highest_rate_hz = 768000;
constexpr double longest_s = 24 * 3600;
constexpr std::uint64_t largest_wav_bytes = 0xFFFFFFFFU - 4096U;
constexpr std::uint32_t dither_stream = 0x1000;  ///< apart from the noise of channels

struct Format {
    SampleFormat format;
    const char* name;
    const char* text;
    int subtype;
    std::uint64_t bytes;
};
constexpr std::array<Format, 3> formats{
    {{SampleFormat::pcm16, "16", "16 bit", SF_FORMAT_PCM_16, 2},
     {SampleFormat::pcm24, "24", "24 bit", SF_FORMAT_PCM_24, 3},
     {SampleFormat::float32, "float", "32 bit float", SF_FORMAT_FLOAT, 4}}};

const Format& row_of(SampleFormat format) {
    return formats[static_cast<std::size_t>(format)];
}

[[noreturn]] void refuse(const std::string& path, const std::string& why) {
    throw UsageError(fmt::format("cannot listen to '{}': {}", path, why));
}

/// "WAV (Microsoft), Signed 24 bit PCM", as the library names them.
std::string kind_of(int format) {
    const auto name = [](int part) {
        SF_FORMAT_INFO info{};
        info.format = part;
        const int error = sf_command(nullptr, SFC_GET_FORMAT_INFO, &info, sizeof info);
        return std::string(error == 0 && info.name ? info.name : "unknown");
    };
    return name(format & SF_FORMAT_TYPEMASK) + ", " + name(format & SF_FORMAT_SUBMASK);
}

}  // namespace

SampleFormat sample_format(const std::string& name) {
    for (const Format& row : formats) {
        if (name == row.name) return row.format;
    }
    return SampleFormat::pcm24;
}

std::string sample_format_text(SampleFormat format) {
    return row_of(format).text;
}

struct SoundReader::Handle {
    SNDFILE* file = nullptr;
    ~Handle() {
        if (file) sf_close(file);
    }
};

SoundReader::SoundReader(const std::string& path)
    : path_(path), handle_(std::make_unique<Handle>()) {
    const auto any_size = std::numeric_limits<std::uintmax_t>::max();
    if (const auto obstacle = obstacle_to_reading(path, any_size)) refuse(path, obstacle->reason);
    SF_INFO info{};
    handle_->file = sf_open(path.c_str(), SFM_READ, &info);
    if (!handle_->file) {
        std::string why = sf_strerror(nullptr);
        while (!why.empty() && (why.back() == '.' || why.back() == '\n')) why.pop_back();
        refuse(path, fmt::format("it is not a readable sound file ({}); accepted: WAV, FLAC, "
                                 "AIFF, Ogg and others",
                                 why));
    }
    if (info.samplerate < lowest_rate_hz || info.samplerate > highest_rate_hz) {
        refuse(path, fmt::format("its rate is {} Hz; accepted: {} Hz to {} Hz", info.samplerate,
                                 lowest_rate_hz, highest_rate_hz));
    }
    if (info.channels < 1 || info.channels > 2) {
        refuse(path, fmt::format("it has {} channels; accepted: one or two", info.channels));
    }
    if (info.frames <= 0) refuse(path, "it has no samples");
    rate_hz_ = info.samplerate;
    channels_ = static_cast<std::size_t>(info.channels);
    frames_ = static_cast<std::uint64_t>(info.frames);
    if (seconds() > longest_s) {
        refuse(path,
               fmt::format("its header gives a length of {:.3g} hours; accepted: up to 24; cut it",
                           seconds() / 3600));
    }
    kind_ = kind_of(info.format);
}

SoundReader::~SoundReader() = default;

std::vector<double> SoundReader::read(std::size_t frames) {
    std::vector<double> samples(frames * channels_);
    const sf_count_t count =
        sf_readf_double(handle_->file, samples.data(), static_cast<sf_count_t>(frames));
    const auto got = static_cast<std::size_t>(std::max<sf_count_t>(count, 0));
    samples.resize(got * channels_);
    if (sf_error(handle_->file) != SF_ERR_NO_ERROR) {
        refuse(path_, fmt::format("it is damaged after {:.3g} s: {}",
                                  static_cast<double>(read_ + got) / rate_hz_,
                                  sf_strerror(handle_->file)));
    }
    if (got == 0 && read_ < frames_) {
        refuse(path_, fmt::format("it ends after {:.3g} s, but its header gives {:.3g} s",
                                  static_cast<double>(read_) / rate_hz_, seconds()));
    }
    const auto bad = std::find_if(samples.begin(), samples.end(), [](double v) {
        return !(std::abs(v) < 1e6);  // floating-point files may hold NaN or any size
    });
    if (bad != samples.end()) {
        const auto frame = read_ + static_cast<std::size_t>(bad - samples.begin()) / channels_;
        refuse(path_, fmt::format("its sample at {:.6g} s is {}; accepted: numbers of a magnitude "
                                  "below a million times full scale",
                                  static_cast<double>(frame) / rate_hz_, *bad));
    }
    read_ += got;
    return samples;
}

void SoundReader::rewind() {
    if (sf_seek(handle_->file, 0, SEEK_SET) != 0) refuse(path_, "it cannot be read twice");
    read_ = 0;
}

struct SoundWriter::Handle {
    SNDFILE* file = nullptr;
    ~Handle() {
        if (file) sf_close(file);
    }
};

SoundWriter::SoundWriter(int file, double rate_hz, std::size_t channels, std::uint64_t frames,
                         SampleFormat format, std::uint64_t seed)
    : handle_(std::make_unique<Handle>()), format_(format), seed_(seed) {
    const std::uint64_t bytes = frames * channels * row_of(format).bytes;
    SF_INFO info{};
    info.samplerate = static_cast<int>(rate_hz);
    info.channels = static_cast<int>(channels);
    info.format =
        (bytes > largest_wav_bytes ? SF_FORMAT_RF64 : SF_FORMAT_WAV) | row_of(format).subtype;
    handle_->file = sf_open_fd(file, SFM_WRITE, &info, SF_FALSE);
    // The chunk with the peaks of floating-point files has the time of day in it.
    if (handle_->file) sf_command(handle_->file, SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
}

SoundWriter::~SoundWriter() = default;

int SoundWriter::write(std::span<const double> frames) {
    if (!handle_->file) return errno != 0 ? errno : EIO;
    errno = 0;
    const auto items = static_cast<sf_count_t>(frames.size());
    sf_count_t written = 0;
    if (format_ == SampleFormat::float32) {
        floats_.clear();
        for (const double v : frames) {
            floats_.push_back(static_cast<float>(std::clamp(v, -1.0, 1.0)));
        }
        written = sf_write_float(handle_->file, floats_.data(), items);
    } else {
        // The library takes the upper bits of 32.
        const int bits = format_ == SampleFormat::pcm16 ? 16 : 24;
        const double full = std::ldexp(1, bits - 1);
        const RandomSamples dither(seed_, dither_stream);
        integers_.clear();
        for (const double v : frames) {
            const double d = bits == 16 ? dither.triangular(written_) : 0;
            ++written_;
            const double rounded = std::clamp(std::round(v * full + d), -full, full - 1);
            integers_.push_back(static_cast<int>(rounded) * (1 << (32 - bits)));
        }
        written = sf_write_int(handle_->file, integers_.data(), items);
    }
    return written == items ? 0 : errno != 0 ? errno : EIO;
}

int SoundWriter::close() {
    SNDFILE* const file = std::exchange(handle_->file, nullptr);
    if (!file) return EIO;
    errno = 0;
    sf_write_sync(file);
    const int error = sf_close(file);
    return error == 0 ? 0 : errno != 0 ? errno : EIO;
}

}  // namespace lowhiss::cli
