#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct SweepOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    GridOptions grid;
    std::string board;
    std::string json;
    std::string csv;
    std::string plot;
    bool draw = false;
    std::vector<std::string> show;
    std::vector<std::string> cables;
    SeriesOptions series;
    std::string board_index;  ///< empty: the nominal board
    SeriesRange range;
};

void add_sweep(CLI::App& app, SweepOptions& options);
ExitStatus run_sweep(const SweepOptions& options);

}  // namespace lowhiss::cli
