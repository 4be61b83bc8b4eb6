#pragma once

#include <string>
#include <string_view>

namespace lowhiss::cli {

/// Writes a drawing: the DOT text itself to a name that ends in .dot, or to "-"; to .svg, .png and
/// .pdf what Graphviz's program `dot` draws. Whole or not at all. Throws UsageError for another
/// ending, and if `dot` is missing or fails.
void write_drawing(const std::string& path, std::string_view dot_text);

/// Throws UsageError if a drawing cannot be written by this name.
void check_drawing_name(const std::string& path);

}  // namespace lowhiss::cli
