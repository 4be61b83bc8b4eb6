#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"
#include "lowhiss/ordered/materials.hpp"

namespace lowhiss::cli {

/// How lists of materials are read.
struct MaterialsReading {
    std::vector<std::string> columns;
    std::vector<std::string> unfitted;
};

void add_materials_reading(CLI::App& command, MaterialsReading& reading);
/// Throws UsageError naming the option.
MaterialsOptions materials_options(const MaterialsReading& reading);

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
