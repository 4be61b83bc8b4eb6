#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

// The models and capsules of netlists/ are compiled into the program, so that `library:opamps` is
// found wherever the program is installed, and is of the same release.

/// The prefix of the names of these files.
inline constexpr std::string_view library_prefix = "library:";

struct LibraryFile {
    std::string_view name;  ///< "opamps.toml"
    std::string_view text;
};

/// All of them.
std::span<const LibraryFile> library_files();

/// The file that `library:opamps` or `library:measured-200.csv` names, or null.
const LibraryFile* library_file(std::string_view path);

/// The first file that has a table of this kind, such as "library:opamps" for "opamp"; empty if
/// none has.
std::string library_that_defines(std::string_view kind);

/// The names that may be included: "library:opamps" and so on.
std::vector<std::string> library_names();

}  // namespace lowhiss
