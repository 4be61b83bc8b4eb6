#pragma once

#include <string>
#include <vector>

#include "command/materials.hpp"
#include "command/options.hpp"

namespace lowhiss::cli {

struct DraftOptions {
    CommonOptions common;
    std::vector<std::string> files;
    std::vector<std::string> input;
    std::vector<std::string> output;
    MaterialsReading reading;
};

void add_draft(CLI::App& app, DraftOptions& options);

/// Writes a board file to standard output.
ExitStatus run_draft(const DraftOptions& options);

}  // namespace lowhiss::cli
