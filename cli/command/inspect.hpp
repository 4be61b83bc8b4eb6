#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct InspectOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    std::string board;
    std::string graph;
};

void add_inspect(CLI::App& app, InspectOptions& options);

/// Status no_solution if an assembly is found to have no unique solution.
ExitStatus run_inspect(const InspectOptions& options);

}  // namespace lowhiss::cli
