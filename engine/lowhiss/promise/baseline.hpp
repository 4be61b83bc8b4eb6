#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/board_diff.hpp"
#include "lowhiss/measure/standard_figures.hpp"

namespace lowhiss {

inline constexpr std::string_view baseline_format = "lowhiss-baseline/1";

struct RecordedFigure {
    std::string key;
    std::string text;
    Position at;
};

/// What was computed for a board when somebody last accepted it, and the board it was computed for.
struct Baseline {
    std::string board;
    std::string revision;
    std::string recorded_by;  ///< version of lowhiss
    std::vector<RecordedFigure> figures;
    std::vector<BoardLine> lines;
    Position at;
};

/// "heron.baseline" beside "heron.toml": not ".toml", so that `check boards/*.toml` takes no
/// baseline for a board.
std::string baseline_path(const std::string& board_path);

/// The file for these figures: sorted, rounded, one figure a line; the same bytes for the same
/// board.
std::string baseline_text(const Board& board, std::span<const Figure> figures,
                          std::string_view version);

/// Reports every mistake to `out`, a format of a newer lowhiss among them, and then returns
/// nothing.
std::optional<Baseline> read_baseline(const std::string& path, const FileReader& reader,
                                      Diagnostics& out);

}  // namespace lowhiss
