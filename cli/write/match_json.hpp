#pragma once

#include <string>

#include "lowhiss/ordered/match_files.hpp"

namespace lowhiss::cli {

std::string match_json(const MatchReport& report);

}  // namespace lowhiss::cli
