#pragma once

#include <memory>
#include <optional>

#include "options.hpp"

namespace lowhiss::cli {

struct SweepOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    GridOptions grid;
    std::string board;
    std::string json;
    std::string csv;
    SeriesOptions series;
    std::optional<std::uint64_t> board_index;
};

void add_sweep(CLI::App& app, SweepOptions& options);
ExitStatus run_sweep(const SweepOptions& options);

// The writers of a sweep; each returns the whole text.
std::string sweep_table(const Sweep& sweep, bool bold);
std::string sweep_json(const Sweep& sweep);
std::string sweep_csv(const Sweep& sweep);

}  // namespace lowhiss::cli
