#pragma once

#include <string>

#include "command/options.hpp"

namespace lowhiss::cli {

struct ChooseOptions {
    CommonOptions common;
    std::string board;
    std::size_t best = 5;
    std::size_t boards = 0;
    std::size_t starts = 32;
    SeriesOptions series;
    std::string json;
    std::string apply;
};

void add_choose(CLI::App& app, ChooseOptions& options);
ExitStatus run_choose(const ChooseOptions& options);

}  // namespace lowhiss::cli
