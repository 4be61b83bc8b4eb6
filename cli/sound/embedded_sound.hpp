#pragma once

#include <string>

#include "shell/console.hpp"

namespace lowhiss::cli {

/// A sound file as a page carries it.
struct EmbeddedSound {
    std::string name;  ///< of the file, without its folder
    std::string type;  ///< "audio/wav"
    std::string bytes;
};

/// Largest size of one: browsers take more, mail and forums do not.
inline constexpr std::size_t most_embedded_bytes = std::size_t{20} << 20U;

/// Reads a file that browsers play: WAV, FLAC, Ogg or MP3, known by its content. Throws UsageError.
EmbeddedSound embedded_sound(const std::string& path, ReadFiles& files);

/// RFC 4648, section 4.
std::string base64(const std::string& bytes);

}  // namespace lowhiss::cli
