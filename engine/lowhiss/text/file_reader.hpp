#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <variant>

namespace lowhiss {

/// What a caller gives the engine to reach files: the text of a path, or why there is none.
struct Unreadable {
    std::string reason;
};
using FileReader = std::function<std::variant<std::string, Unreadable>(const std::string& path)>;

/// What all files of one board may hold together, and any one of them alone.
inline constexpr std::uintmax_t most_file_bytes = std::uintmax_t{4} << 20U;

/// Reads whole files from the file system; refuses directories, devices and files that are too
/// large.
FileReader disk_reader(std::uintmax_t most_bytes = most_file_bytes);

/// The reader, as long as what it gives out is together no more than so much. Copies share that.
FileReader within_budget(FileReader reader, std::uintmax_t most_bytes = most_file_bytes);

}  // namespace lowhiss
