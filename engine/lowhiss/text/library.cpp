#include "lowhiss/text/library.hpp"

namespace lowhiss {
namespace {

constexpr std::string_view model_file_ending = ".toml";

}  // namespace

const LibraryFile* library_file(std::string_view path) {
    if (!path.starts_with(library_prefix)) return nullptr;
    const std::string_view name = path.substr(library_prefix.size());
    for (const LibraryFile& file : library_files()) {
        if (file.name == name || file.name == std::string(name) + std::string(model_file_ending)) {
            return &file;
        }
    }
    return nullptr;
}

std::vector<std::string> library_names() {
    std::vector<std::string> names;
    for (const LibraryFile& file : library_files()) {
        if (!file.name.ends_with(model_file_ending)) continue;
        const auto stem = file.name.substr(0, file.name.size() - model_file_ending.size());
        names.push_back(std::string(library_prefix) + std::string(stem));
    }
    return names;
}

}  // namespace lowhiss
