#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct ListenOptions {
    CommonOptions common;
    std::vector<std::string> files;  ///< boards, and the voice last
    std::string variant;
    std::string capsule;
    std::vector<std::string> knob;
    std::string level;
    std::string full_scale = "4 dBu";
    std::string match;
    std::string only;
    std::string format = "24";
    std::uint64_t seed = 1;
    std::string output;
    std::string json;
};

void add_listen(CLI::App& app, ListenOptions& options);
ExitStatus run_listen(const ListenOptions& options);

}  // namespace lowhiss::cli
