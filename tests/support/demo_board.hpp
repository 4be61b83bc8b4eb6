#pragma once

#include <stdexcept>
#include <string>

#include "lowhiss/board/board.hpp"
#include "support/board_text.hpp"

namespace lowhiss::test {

/// A demo board by the name of its file; throws, with the diagnostics, if it has mistakes.
inline Board demo_board(const std::string& name) {
    BoardReading reading =
        read_board(LOWHISS_SOURCE_DIR "/netlists/boards/" + name + ".toml", disk_reader());
    if (!reading.board) throw std::runtime_error(all_text(reading.diagnostics));
    return *std::move(reading.board);
}

}  // namespace lowhiss::test
