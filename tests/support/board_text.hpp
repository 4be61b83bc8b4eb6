#pragma once

#include <map>
#include <stdexcept>
#include <string>

#include "lowhiss/analysis/network.hpp"
#include "lowhiss/board/board.hpp"
#include "support/memory_reader.hpp"

namespace lowhiss::test {

inline std::string all_text(const Diagnostics& diagnostics) {
    std::string text;
    for (const Diagnostic& d : diagnostics) text += to_text(d);
    return text;
}

/// The board of a text; throws, with the diagnostics, if it has mistakes.
inline Board board_from_files(const std::string& text, std::map<std::string, std::string> files) {
    files["board.toml"] = text;
    BoardReading reading = read_board("board.toml", memory_reader(std::move(files)));
    if (!reading.board) throw std::runtime_error(all_text(reading.diagnostics));
    return *std::move(reading.board);
}

inline Board board_from_text(const std::string& text) {
    return board_from_files(text, {});
}

/// The board's own capsule, or null for an ideal source.
inline const Capsule* capsule_of(const Board& board) {
    const auto found = board.models.capsules.find(board.input.capsule);
    return found == board.models.capsules.end() ? nullptr : &found->second;
}

/// The board, knob at a rotation, ready to be solved with its own capsule.
inline Network network_of(const Board& board, double rotation = 0) {
    return Network(build_circuit(board, rotation, capsule_of(board)));
}

inline Network network_from_text(const std::string& text, double rotation = 0) {
    return network_of(board_from_text(text), rotation);
}

}  // namespace lowhiss::test
