#pragma once

#include <string>

namespace lowhiss::cli {

/// What `--version` prints: the release, and the commit of the build if known.
std::string version_text();

}  // namespace lowhiss::cli
