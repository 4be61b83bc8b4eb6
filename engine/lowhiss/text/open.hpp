#pragma once

#include <memory>
#include <string>

#include "lowhiss/text/diagnostic.hpp"
#include "lowhiss/text/file_reader.hpp"

namespace lowhiss {

/// The path of a file that `from` names, relative to the folder of `from`. A name that begins with
/// "library:" is that of a file compiled into the program, as are the names in such a file.
std::string path_beside(const std::string& from, const std::string& named);

/// Reads one file, by `reader` unless it belongs to the library. A file that cannot be read is
/// reported to `out`, at `named_at`, and gives null.
std::shared_ptr<const Source> open_source(const std::string& path, const FileReader& reader,
                                          const Position& named_at, const std::string& subject,
                                          Diagnostics& out);

}  // namespace lowhiss
