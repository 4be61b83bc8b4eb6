#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

// The models and capsules of netlists/ are within the program, so that `library:opamps` is there
// wherever it is installed, and is of the same release.

/// The beginning of the name of such a file.
inline constexpr std::string_view library_prefix = "library:";

struct LibraryFile {
    std::string_view name;  ///< "opamps.toml"
    std::string_view text;
};

/// The files within the program.
std::span<const LibraryFile> library_files();

/// The file that `library:opamps` or `library:measured-200.csv` names, or null.
const LibraryFile* library_file(std::string_view path);

/// The first that has a table of this kind, as "library:opamps" for "opamp"; empty if none has.
std::string library_that_defines(std::string_view kind);

/// The names that may be included: "library:opamps" and so on.
std::vector<std::string> library_names();

}  // namespace lowhiss
