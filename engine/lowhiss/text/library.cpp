#include "lowhiss/text/library.hpp"

namespace lowhiss {
namespace {

constexpr std::string_view model_file_ending = ".toml";

/// The name under which a file of models is included; empty for other files.
std::string included_as(const LibraryFile& file) {
    if (!file.name.ends_with(model_file_ending)) return "";
    const auto stem = file.name.substr(0, file.name.size() - model_file_ending.size());
    return std::string(library_prefix) + std::string(stem);
}

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

std::string library_that_defines(std::string_view kind) {
    const std::string table = "\n[" + std::string(kind) + ".";
    for (const LibraryFile& file : library_files()) {
        if (file.text.find(table) != std::string_view::npos) return included_as(file);
    }
    return "";
}

std::vector<std::string> library_names() {
    std::vector<std::string> names;
    for (const LibraryFile& file : library_files()) {
        if (std::string name = included_as(file); !name.empty()) names.push_back(std::move(name));
    }
    return names;
}

}  // namespace lowhiss
