#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct ToleranceOptions {
    CommonOptions common;
    std::string board;
    std::string variant;
    SeriesRange range;
    SeriesOptions series;
    std::string least_yield;
    std::string json;
    std::string plot;
    std::string shard;
    std::string result;
    std::vector<std::string> merge;
};

void add_tolerance(CLI::App& app, ToleranceOptions& options);
ExitStatus run_tolerance(const ToleranceOptions& options);

}  // namespace lowhiss::cli
