#pragma once

#include <cstdio>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss::cli {

/// The paths of the files that a run has read.
using ReadFiles = std::vector<std::string>;

/// Options of every subcommand: how much is printed, and whether in colour.
struct CommonOptions {
    bool quiet = false;
    bool verbose = false;
    std::string color = "auto";
    std::vector<std::string> set;  ///< of commands that read a board: "R5=15R"
    /// Every file that was read, so that no output replaces one of them (keep_apart).
    std::shared_ptr<ReadFiles> files = std::make_shared<ReadFiles>();
};

/// Whether a stream gets colour: --color always or never, else NO_COLOR (set and not empty), else
/// a terminal that is not dumb.
bool wants_color(const std::string& choice, std::FILE* stream);

/// Whether the stream is a terminal that is not dumb.
bool draws_on(std::FILE* stream);

/// Prints to standard error, the severity coloured if `color` allows it.
void print_diagnostic(const Diagnostic& diagnostic, const std::string& color);

/// Prints the first hundred and the number of the others; no warnings if `quiet`.
void print_diagnostics(const Diagnostics& diagnostics, bool quiet, const std::string& color);

}  // namespace lowhiss::cli
