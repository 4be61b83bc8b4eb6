#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// Every verdict and every figure of every board.
std::string check_json(const std::vector<CheckedBoard>& boards);

}  // namespace lowhiss::cli
