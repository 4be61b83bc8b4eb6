#pragma once

#include <memory>
#include <string>

#include "lowhiss/text/diagnostic.hpp"
#include "lowhiss/text/file_reader.hpp"

namespace lowhiss {

/// The path of a file that `from` names, relative to the folder of `from`. A name that begins with
/// "library:" is of a file within the program, and so is what such a file names.
std::string path_beside(const std::string& from, const std::string& named);

/// Reads one file, by `reader` unless it is of the library. Reports a file that cannot be read to
/// `out`, at `named_at`.
std::shared_ptr<const Source> open_source(const std::string& path, const FileReader& reader,
                                          const Position& named_at, const std::string& subject,
                                          Diagnostics& out);

}  // namespace lowhiss
