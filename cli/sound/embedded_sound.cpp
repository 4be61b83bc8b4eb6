#include "sound/embedded_sound.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <string_view>

#include "lowhiss/text/file_reader.hpp"
#include "shell/exit_status.hpp"

namespace lowhiss::cli {
namespace {

/// Empty for what browsers do not play.
std::string type_of(std::string_view bytes) {
    if (bytes.starts_with("RIFF") && bytes.substr(0, 12).ends_with("WAVE")) return "audio/wav";
    if (bytes.starts_with("fLaC")) return "audio/flac";
    if (bytes.starts_with("OggS")) return "audio/ogg";
    if (bytes.starts_with("ID3") || bytes.starts_with("\xFF\xFB")) return "audio/mpeg";
    return "";
}

}  // namespace

EmbeddedSound embedded_sound(const std::string& path, ReadFiles& files) {
    const auto content = disk_reader(most_embedded_bytes)(path);
    if (const auto* unreadable = std::get_if<Unreadable>(&content)) {
        throw UsageError(fmt::format("--sound: cannot embed '{}': {}", path, unreadable->reason));
    }
    files.push_back(path);
    EmbeddedSound sound{std::filesystem::path(path).filename().string(), "",
                        std::get<std::string>(content)};
    sound.type = type_of(sound.bytes);
    if (sound.type.empty()) {
        throw UsageError(fmt::format(
            "--sound: '{}' is not a sound that browsers play; accepted: WAV, FLAC, Ogg, MP3",
            path));
    }
    return sound;
}

std::string base64(const std::string& bytes) {
    constexpr std::string_view letters =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t k = 0; k < bytes.size(); k += 3) {
        std::uint32_t three = 0;
        for (std::size_t i = 0; i < 3; ++i) {
            const bool there = k + i < bytes.size();
            three = three << 8U | (there ? static_cast<unsigned char>(bytes[k + i]) : 0U);
        }
        for (std::size_t i = 0; i < 4; ++i) {
            const bool padding = k + i > bytes.size();
            text += padding ? '=' : letters[three >> (18 - 6 * i) & 63U];
        }
    }
    return text;
}

}  // namespace lowhiss::cli
