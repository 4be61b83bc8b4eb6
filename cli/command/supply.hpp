#pragma once

#include <string>

#include "command/options.hpp"

namespace lowhiss::cli {

struct SupplyOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    std::string board;
    std::string json;
};

void add_supply(CLI::App& app, SupplyOptions& options);
ExitStatus run_supply(const SupplyOptions& options);

}  // namespace lowhiss::cli
