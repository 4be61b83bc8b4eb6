#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lowhiss::cli {

/// Throws UsageError if an output would replace an input, or if two outputs are one file. Empty
/// names and "-" are ignored.
void keep_apart(const std::vector<std::string>& outputs, const std::vector<std::string>& inputs);

/// Writes a file whole or not at all: a new file in the same folder is renamed to it. "-" is
/// standard output; devices and pipes are written directly. Throws UsageError.
void write_output(const std::string& path, std::string_view content);

}  // namespace lowhiss::cli
