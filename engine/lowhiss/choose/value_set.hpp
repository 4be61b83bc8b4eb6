#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// For each open value of a board's [choose] which of its values is taken.
using ValueSet = std::vector<std::uint32_t>;

/// Sets are numbered from 0; the values of the last open one vary fastest. There must be fewer than
/// 2^63 sets.
ValueSet value_set(const Choose& choose, std::uint64_t number);
std::uint64_t number_of(const Choose& choose, const ValueSet& values);

/// The board with these values: in every variant that does not set a value of its own.
Board board_with_values(const Board& board, const ValueSet& values);

/// A board file that is based on the board and has these values; its lines of [parts] are otherwise
/// unchanged. `based_on` is the path of the board from the file's folder.
std::string revision_text(const Board& board, const ValueSet& values, const std::string& based_on);

}  // namespace lowhiss
