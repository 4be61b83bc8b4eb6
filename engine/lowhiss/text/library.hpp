#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lowhiss {

// The models and capsules of netlists/ are within the program, so that `library:opamps` is there
// wherever it is installed, and is of the same release.

/// What a name of such a file begins with.
inline constexpr std::string_view library_prefix = "library:";

struct LibraryFile {
    std::string_view name;  ///< "opamps.toml"
    std::string_view text;
};

/// All of them.
std::span<const LibraryFile> library_files();

/// The file that `library:opamps` or `library:measured-200.csv` names, or null.
const LibraryFile* library_file(std::string_view path);

/// What may be included: "library:opamps" and so on.
std::vector<std::string> library_names();

}  // namespace lowhiss
