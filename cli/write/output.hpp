#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lowhiss::cli {

/// Throws UsageError where an output would replace one of the inputs, or two outputs are one file.
/// Empty names and "-" are no files.
void keep_apart(const std::vector<std::string>& outputs, const std::vector<std::string>& inputs);

/// Writes a file whole or not at all: into a new file beside it, then renamed over it. "-" is
/// standard output; devices and pipes are written straight. Throws UsageError.
void write_output(const std::string& path, std::string_view content);

}  // namespace lowhiss::cli
