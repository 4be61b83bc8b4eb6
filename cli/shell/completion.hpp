#pragma once

#include <string>

#include "shell/definition.hpp"

namespace lowhiss::cli {

std::string bash_completion(const Definition& definition);
std::string zsh_completion(const Definition& definition);
std::string fish_completion(const Definition& definition);

}  // namespace lowhiss::cli
