#pragma once

#include <string>
#include <string_view>

namespace lowhiss::cli {

/// Writes a file whole or not at all: into a new file beside it, then renamed over it. "-" is
/// standard output; devices and pipes are written straight. Throws UsageError.
void write_output(const std::string& path, std::string_view content);

}  // namespace lowhiss::cli
