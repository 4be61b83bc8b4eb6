#pragma once

#include <string>

namespace lowhiss::cli {

/// A board and its variant: "heron-c.toml@condenser".
struct NamedBoard {
    std::string path;
    std::string variant;
};

/// Files and variants may have an @ in their names: a file that exists by the whole text is the
/// board; else the shortest text before an @ that names a file. Throws UsageError for an @ at the
/// end.
NamedBoard named_board(const std::string& text);

/// "A" to "Z", then numbers.
std::string board_label(std::size_t k);

}  // namespace lowhiss::cli
