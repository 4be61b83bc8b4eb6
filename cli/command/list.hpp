#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct ListOptions {
    CommonOptions common;
    std::string kind;
    std::vector<std::string> where;
    std::string source;
    std::string at_gain;
    std::string at_current;
    std::string json;
};

void add_list(CLI::App& app, ListOptions& options);

/// Lists the models that come with the program.
ExitStatus run_list(const ListOptions& options);

}  // namespace lowhiss::cli
