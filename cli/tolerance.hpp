#pragma once

#include "lowhiss/measure/spread.hpp"
#include "options.hpp"

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
};

/// What the writers need to know beside the figures.
struct SpreadReport {
    std::string path;
    std::string board;
    std::string revision;
    std::string capsule;
    std::optional<TemperatureRange> temperature_range;
    SpreadRequest request;
    Spread spread;
};

void add_tolerance(CLI::App& app, ToleranceOptions& options);
ExitStatus run_tolerance(const ToleranceOptions& options);

// The writers of a tolerance run; each returns the whole text.
std::string tolerance_table(const SpreadReport& report, bool bold);
std::string tolerance_json(const SpreadReport& report);

}  // namespace lowhiss::cli
