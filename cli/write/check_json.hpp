#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"
#include "write/json.hpp"

namespace lowhiss::cli {

Json verdict_json(const Verdict& verdict);

/// Every verdict and every figure of every board.
std::string check_json(const std::vector<CheckedBoard>& boards);

}  // namespace lowhiss::cli
