#pragma once

#include <string>
#include <vector>

#include "command/materials.hpp"
#include "command/options.hpp"

namespace lowhiss::cli {

struct ReportOptions {
    CommonOptions common;
    std::vector<std::string> boards;
    std::vector<std::string> capsules;  ///< to be compared; empty: each assembly's own
    std::vector<std::string> sounds;    ///< files to embed
    std::vector<std::string> ordered;   ///< files that the board is ordered by
    MaterialsReading reading;
    bool choose = false;  ///< search the values that boards leave open
    std::string output;
};

void add_report(CLI::App& app, ReportOptions& options);
ExitStatus run_report(const ReportOptions& options);

}  // namespace lowhiss::cli
