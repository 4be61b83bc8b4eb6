#pragma once

#include <cstdio>
#include <string>
#include <string_view>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss::cli {

/// Whether a stream gets colour: --color always or never, else NO_COLOR (set and not empty), else
/// a terminal that is not dumb.
bool wants_color(const std::string& choice, std::FILE* stream);

/// Whether it is a terminal that is not dumb.
bool draws_on(std::FILE* stream);

/// To standard error, the severity coloured where wanted.
void print_diagnostic(const Diagnostic& diagnostic, const std::string& color);

/// All of them, warnings unless `quiet`; of more than a hundred the first hundred, and how many
/// more.
void print_diagnostics(const Diagnostics& diagnostics, bool quiet, const std::string& color);

}  // namespace lowhiss::cli
