#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <memory>

#include "lowhiss/text/file_reader.hpp"

namespace lowhiss {

FileReader disk_reader(std::uintmax_t most_bytes) {
    return [most_bytes](const std::string& path) -> std::variant<std::string, Unreadable> {
        std::error_code error;
        const auto status = std::filesystem::status(path, error);
        if (!std::filesystem::exists(status)) return Unreadable{"there is no such file"};
        if (std::filesystem::is_directory(status)) return Unreadable{"it is a folder"};
        if (!std::filesystem::is_regular_file(status)) return Unreadable{"it is not a plain file"};
        const auto size = std::filesystem::file_size(path, error);
        if (error) return Unreadable{error.message()};
        if (size > most_bytes) {
            return Unreadable{fmt::format("it is larger than {} MiB", most_bytes >> 20U)};
        }
        std::ifstream stream(path, std::ios::binary);
        std::string text(size, '\0');
        if (!stream.read(text.data(), static_cast<std::streamsize>(size))) {
            return Unreadable{"reading it failed; check its permissions"};
        }
        return text;
    };
}

FileReader within_budget(FileReader reader, std::uintmax_t most_bytes) {
    const auto left = std::make_shared<std::uintmax_t>(most_bytes);
    return [reader = std::move(reader), left,
            most_bytes](const std::string& path) -> std::variant<std::string, Unreadable> {
        auto content = reader(path);
        const auto* text = std::get_if<std::string>(&content);
        if (!text) return content;
        if (text->size() > *left) {
            return Unreadable{
                fmt::format("with it, the files of this board exceed {} MiB", most_bytes >> 20U)};
        }
        *left -= text->size();
        return content;
    };
}

}  // namespace lowhiss
