#pragma once

#include <memory>
#include <optional>

#include "command/options.hpp"
#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

struct SweepOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    GridOptions grid;
    std::string board;
    std::string json;
    std::string csv;
    std::string plot;
    bool draw = false;
    std::vector<std::string> cables;
    SeriesOptions series;
    std::optional<std::uint64_t> board_index;
};

void add_sweep(CLI::App& app, SweepOptions& options);
ExitStatus run_sweep(const SweepOptions& options);

/// Which board of a tolerance run's series was swept.
struct DrawnBoard {
    std::uint64_t index;
    BoardSeries series;
};

// The writers of a sweep; each returns the whole text. Nothing is drawn of the board as it is.
std::string sweep_table(const Sweep& sweep, const std::optional<DrawnBoard>& drawn, bool bold);
std::string sweep_json(const Sweep& sweep, const std::optional<DrawnBoard>& drawn);
std::string sweep_csv(const Sweep& sweep);

/// The part of a run's table that is neither response nor hiss.
std::string behaviour_text(const SweepRun& run, bool bold);
/// A line for each knob position whose circuit is not stable.
std::string instability_text(const SweepRun& run);

}  // namespace lowhiss::cli
