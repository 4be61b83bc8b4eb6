#pragma once

#include <string>

namespace lowhiss::cli {

/// A file's name as one word of a POSIX shell's command line, quoted where it needs to be.
std::string shell_word(const std::string& name);

}  // namespace lowhiss::cli
