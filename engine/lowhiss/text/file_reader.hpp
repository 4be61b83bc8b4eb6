#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <variant>

namespace lowhiss {

/// How the engine reads files, given by its caller: returns the text of a path, or why there is
/// none.
struct Unreadable {
    std::string reason;
};
using FileReader = std::function<std::variant<std::string, Unreadable>(const std::string& path)>;

/// The largest size of all files of one board together, and of any one of them.
inline constexpr std::uintmax_t most_file_bytes = std::uintmax_t{4} << 20U;

/// Reads whole files from the file system; refuses directories, devices and files that are too
/// large.
FileReader disk_reader(std::uintmax_t most_bytes = most_file_bytes);

/// A reader that refuses files once it has returned so many bytes. Copies share the count.
FileReader within_budget(FileReader reader, std::uintmax_t most_bytes = most_file_bytes);

}  // namespace lowhiss
