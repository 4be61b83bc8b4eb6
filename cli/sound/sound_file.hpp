#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace lowhiss::cli {

/// How samples are written.
enum class SampleFormat { pcm16, pcm24, float32 };

/// "16", "24" or "float", and back.
SampleFormat sample_format(const std::string& name);
std::string sample_format_text(SampleFormat format);  ///< "24 bit"

/// A sound file that is read, of any kind that libsndfile knows by its content.
class SoundReader {
  public:
    /// Throws UsageError for what is no plain file, no sound file, empty, or beyond the bounds: one
    /// or two channels, 8 kHz to 768 kHz, a day.
    explicit SoundReader(const std::string& path);
    ~SoundReader();
    SoundReader(const SoundReader&) = delete;
    SoundReader& operator=(const SoundReader&) = delete;

    const std::string& path() const { return path_; }
    double rate_hz() const { return rate_hz_; }
    std::size_t channels() const { return channels_; }
    std::uint64_t frames() const { return frames_; }
    double seconds() const { return static_cast<double>(frames_) / rate_hz_; }
    const std::string& kind() const { return kind_; }  ///< "WAV, 24 bit"

    /// The next frames, as interleaved samples with a full scale of 1: at most `frames`, and none
    /// at the end. Throws UsageError if the file is damaged, shorter than its header says or has a
    /// sample that is NaN or out of range.
    std::vector<double> read(std::size_t frames);
    void rewind();

  private:
    struct Handle;
    std::string path_;
    std::unique_ptr<Handle> handle_;
    double rate_hz_ = 0;
    std::size_t channels_ = 0;
    std::uint64_t frames_ = 0;
    std::uint64_t read_ = 0;
    std::string kind_;
};

/// A WAV file that is written to an open descriptor; RF64 from 4 GiB on. Its bytes depend on the
/// samples alone: no date and no name of a program. Samples beyond full scale are limited to it.
class SoundWriter {
  public:
    /// `frames` is how many will be written. 16 bits have dither of triangular density, by `seed`.
    SoundWriter(int file, double rate_hz, std::size_t channels, std::uint64_t frames,
                SampleFormat format, std::uint64_t seed);
    ~SoundWriter();
    SoundWriter(const SoundWriter&) = delete;
    SoundWriter& operator=(const SoundWriter&) = delete;

    /// Returns 0 or an error number (errno.h).
    int write(std::span<const double> frames);
    int close();

  private:
    struct Handle;
    std::unique_ptr<Handle> handle_;
    SampleFormat format_;
    std::uint64_t seed_;
    std::uint64_t written_ = 0;
    std::vector<int> integers_;
    std::vector<float> floats_;
};

}  // namespace lowhiss::cli
