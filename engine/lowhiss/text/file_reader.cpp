#include "lowhiss/text/file_reader.hpp"

#include <fmt/format.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <memory>

namespace lowhiss {
namespace {

FileReader::Content read_from_disk(const std::string& path, std::uintmax_t most_bytes) {
    if (auto obstacle = obstacle_to_reading(path, most_bytes)) return *std::move(obstacle);
    std::error_code error;
    const auto size = std::filesystem::file_size(path, error);
    if (error) return Unreadable{error.message()};
    std::ifstream stream(path, std::ios::binary);
    std::string text(size, '\0');
    if (!stream.read(text.data(), static_cast<std::streamsize>(size))) {
        return Unreadable{"reading it failed; check its permissions"};
    }
    return text;
}

std::string lexical_identity(const std::string& path) {
    return std::filesystem::path(path).lexically_normal().string();
}

std::string identity_on_disk(const std::string& path) {
    struct stat found {};
    if (::stat(path.c_str(), &found) != 0) return lexical_identity(path);
    return fmt::format("{}:{}", found.st_dev, found.st_ino);
}

}  // namespace

std::string FileReader::as_written(const std::string& path) {
    return lexical_identity(path);
}

std::optional<Unreadable> obstacle_to_reading(const std::string& path, std::uintmax_t most_bytes) {
    std::error_code error;
    const auto status = std::filesystem::status(path, error);
    if (status.type() == std::filesystem::file_type::none) return Unreadable{error.message()};
    if (!std::filesystem::exists(status)) return Unreadable{"there is no such file"};
    if (std::filesystem::is_directory(status)) return Unreadable{"it is a folder"};
    if (!std::filesystem::is_regular_file(status)) return Unreadable{"it is not a plain file"};
    const auto size = std::filesystem::file_size(path, error);
    if (error) return Unreadable{error.message()};
    if (size > most_bytes) {
        return Unreadable{fmt::format("it is larger than {} MiB", most_bytes >> 20U)};
    }
    return std::nullopt;
}

FileReader disk_reader(std::uintmax_t most_bytes) {
    return {[most_bytes](const std::string& path) { return read_from_disk(path, most_bytes); },
            identity_on_disk};
}

FileReader within_budget(const FileReader& reader, std::uintmax_t most_bytes) {
    const auto left = std::make_shared<std::uintmax_t>(most_bytes);
    return reader.reading([reader, left, most_bytes](const std::string& path) {
        auto content = reader(path);
        const auto* text = std::get_if<std::string>(&content);
        if (!text) return content;
        if (text->size() > *left) {
            return FileReader::Content(Unreadable{
                fmt::format("with it, the files of this board exceed {} MiB", most_bytes >> 20U)});
        }
        *left -= text->size();
        return content;
    });
}

}  // namespace lowhiss
