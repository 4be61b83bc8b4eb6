#pragma once

#include <string>
#include <string_view>

namespace lowhiss::cli {

/// Writes a drawing: the DOT text itself to a name that ends in .dot, or to "-"; else, for .svg,
/// .png and .pdf, what the program `dot` of Graphviz makes of it. Whole or not at all. Throws
/// UsageError: for another ending, where there is no such program, and where it fails.
void write_drawing(const std::string& path, std::string_view dot_text);

/// Refuses the name of a drawing before any work is done. Throws UsageError.
void check_drawing_name(const std::string& path);

}  // namespace lowhiss::cli
