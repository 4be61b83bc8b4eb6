#pragma once

#include <string>

#include "shell/exit_status.hpp"

namespace CLI {
class App;
}

namespace lowhiss::cli {

struct DescribeOptions {
    std::string what;
    std::string output = "-";
};

void add_describe(CLI::App& app, DescribeOptions& options);
ExitStatus run_describe(const CLI::App& app, const DescribeOptions& options);

}  // namespace lowhiss::cli
