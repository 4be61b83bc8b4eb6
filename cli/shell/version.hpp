#pragma once

#include <string>

namespace lowhiss::cli {

/// As `--version` says it: the release, and the commit that was built where that is known.
std::string version_text();

}  // namespace lowhiss::cli
