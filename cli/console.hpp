#pragma once

#include <cstdio>
#include <string>
#include <string_view>

#include "lowhiss/board/diagnostic.hpp"

namespace lowhiss::cli {

/// Whether a stream gets colour: --color always or never, else NO_COLOR (set and not empty), else
/// a terminal that is not dumb.
bool wants_color(const std::string& choice, std::FILE* stream);

/// To standard error, the severity coloured where wanted.
void print_diagnostic(const Diagnostic& diagnostic, const std::string& color);

}  // namespace lowhiss::cli
