#pragma once

#include <string>

#include "shell/definition.hpp"

namespace lowhiss::cli {

/// The manual page as troff source for man(7).
std::string man_page(const Definition& definition);

}  // namespace lowhiss::cli
