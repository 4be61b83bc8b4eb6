#include "lowhiss/text/open.hpp"

#include <fmt/format.h>

#include <filesystem>

#include "lowhiss/quantity/quote.hpp"
#include "lowhiss/text/library.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/text/values.hpp"

namespace lowhiss {

std::string path_beside(const std::string& from, const std::string& named) {
    if (named.starts_with(library_prefix)) return named;
    if (from.starts_with(library_prefix)) return std::string(library_prefix) + named;
    return (std::filesystem::path(from).parent_path() / named).lexically_normal().string();
}

std::shared_ptr<const Source> open_source(const std::string& path, const FileReader& reader,
                                          const Position& named_at, const std::string& subject,
                                          Diagnostics& out) {
    if (path.starts_with(library_prefix)) {
        if (const LibraryFile* file = library_file(path)) {
            return std::make_shared<const Source>(Source{path, std::string(file->text)});
        }
        out.push_back(error_at(named_at, "unreadable-file", subject,
                               fmt::format("the program has no {}", quote(path)),
                               listed(library_names()), did_you_mean(path, library_names())));
        return nullptr;
    }
    auto content = reader(path);
    if (const auto* unreadable = std::get_if<Unreadable>(&content)) {
        out.push_back(
            error_at(named_at, "unreadable-file", subject,
                     fmt::format("cannot read '{}': {}", path, unreadable->reason), "",
                     named_at.source ? "a path is relative to the file that names it" : ""));
        return nullptr;
    }
    return std::make_shared<const Source>(Source{path, std::get<std::string>(std::move(content))});
}

}  // namespace lowhiss
