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

/// A file that the board was ordered by, and the SHA-256 (FIPS 180-4) of its content.
struct OrderedFile {
    std::string path;  ///< relative to the baseline
    std::string sha256;

    bool operator==(const OrderedFile&) const = default;
};

/// The figures of a board when they were last accepted, and the parts that it had then.
struct Baseline {
    std::string board;
    std::string revision;
    std::string recorded_by;  ///< the version of lowhiss
    std::vector<RecordedFigure> figures;
    std::vector<BoardLine> lines;
    std::vector<OrderedFile> ordered;
    Position at;
};

/// "heron.baseline" for "heron.toml". Its name does not end in ".toml", so that
/// `check boards/*.toml` does not take it for a board.
std::string baseline_path(const std::string& board_path);

/// The text of the file: sorted, rounded by allowance, one figure a line; the same bytes for the
/// same board. `read_baseline` reads back every name and text.
std::string baseline_text(const Board& board, std::span<const Figure> figures,
                          std::string_view version, std::span<const OrderedFile> ordered = {});

/// Reports every mistake to `out`, and then returns nothing. The format of another version of
/// lowhiss is a mistake too.
std::optional<Baseline> read_baseline(const std::string& path, const FileReader& reader,
                                      Diagnostics& out);

/// The ordered files in a baseline that `read_baseline` refuses; an empty list if it names none.
/// With merge conflicts they are those of both versions, if both can be read and agree. No value if
/// they are not known.
std::optional<std::vector<OrderedFile>> ordered_in_unusable(const std::string& text);

}  // namespace lowhiss
