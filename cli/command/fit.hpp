#pragma once

#include <string>

#include "command/options.hpp"

namespace lowhiss::cli {

struct FitOptions {
    CommonOptions common;
    std::string file;
    std::string noise;
    std::string taper;
    std::string name;
    std::string from = "20 Hz";
    std::string to = "20 kHz";
    std::string output;
    std::string json;
    std::string plot;
};

void add_fit(CLI::App& app, FitOptions& options);

/// Writes what a board file takes as it is, fitted to what was measured.
ExitStatus run_fit(const FitOptions& options);

}  // namespace lowhiss::cli
