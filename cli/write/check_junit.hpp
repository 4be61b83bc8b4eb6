#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// JUnit XML: one test suite per board, one test case per verdict and figure.
std::string check_junit(const std::vector<CheckedBoard>& boards);

}  // namespace lowhiss::cli
