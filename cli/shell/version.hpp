#pragma once

#include <string>

namespace lowhiss::cli {

/// The text of `--version`: the release, and the commit of the build if known.
std::string version_text();

}  // namespace lowhiss::cli
