#pragma once

#include "command/options.hpp"
#include "lowhiss/series/spread.hpp"

namespace lowhiss::cli {

struct ToleranceOptions {
    CommonOptions common;
    std::string board;
    std::string variant;
    std::size_t boards = 1000;
    std::uint64_t first = 0;
    SeriesOptions series;
    double least_yield = 0;
    std::string json;
    std::string plot;
    std::string shard;
    std::string result;
    std::vector<std::string> merge;
};

/// What the writers need to know beside the figures.
struct SpreadReport {
    std::string path;
    std::string board;
    std::string revision;
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    std::optional<TemperatureRange> temperature_range;
    BoardSeries series;
    std::uint64_t first = 0;
    std::size_t boards = 0;  ///< that are done
    std::size_t asked = 0;   ///< more where the run was interrupted
    Spread spread;

    bool partial() const { return boards < asked; }
};

void add_tolerance(CLI::App& app, ToleranceOptions& options);
ExitStatus run_tolerance(const ToleranceOptions& options);

// The writers of a tolerance run; each returns the whole text.
std::string tolerance_table(const SpreadReport& report, bool bold);
std::string tolerance_json(const SpreadReport& report);

}  // namespace lowhiss::cli
