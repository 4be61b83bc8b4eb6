#pragma once

#include <string>
#include <vector>

#include "write/checked_board.hpp"

namespace lowhiss::cli {

/// A test suite a board, a test case a verdict and a figure, as JUnit XML.
std::string check_junit(const std::vector<CheckedBoard>& boards);

}  // namespace lowhiss::cli
