#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct CheckOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::string json;
    std::string junit;
    std::string summary;
    std::string plot;
    std::vector<std::string> ordered;
    bool record = false;
    bool force = false;
    bool limits_only = false;
};

void add_check(CLI::App& app, CheckOptions& options);
ExitStatus run_check(const CheckOptions& options);

}  // namespace lowhiss::cli
