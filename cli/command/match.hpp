#pragma once

#include <string>
#include <vector>

#include "command/materials.hpp"
#include "command/options.hpp"

namespace lowhiss::cli {

struct MatchOptions {
    CommonOptions common;
    std::string board;
    std::vector<std::string> files;
    std::vector<std::string> materials;
    MaterialsReading reading;
    std::string json;
    std::string junit;
};

void add_match(CLI::App& app, MatchOptions& options);

/// Status not_met if the board and the data differ, or might.
ExitStatus run_match(const MatchOptions& options);

}  // namespace lowhiss::cli
