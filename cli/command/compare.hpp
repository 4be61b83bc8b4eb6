#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct CompareOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::string capsule;
    std::vector<std::string> knob;
    std::vector<std::string> at_gain;
    std::string json;
    std::string plot;
};

void add_compare(CLI::App& app, CompareOptions& options);
ExitStatus run_compare(const CompareOptions& options);

}  // namespace lowhiss::cli
