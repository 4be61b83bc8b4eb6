#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"
#include "lowhiss/measure/supply.hpp"

namespace lowhiss::cli {

struct SupplyOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    std::string board;
    std::string json;
};

void add_supply(CLI::App& app, SupplyOptions& options);
ExitStatus run_supply(const SupplyOptions& options);

/// One assembly's direct voltages and currents.
struct SupplyRun {
    std::string variant;  ///< empty: the plain board
    std::string summary;
    std::string capsule;  ///< empty: an ideal source
    std::vector<SupplyEnd> ends;
    std::vector<double> knob;                      ///< one unset where there is no knob
    std::vector<std::vector<SupplyState>> states;  ///< by end, then knob position
};

struct SupplyReport {
    const Board* board;
    std::vector<SupplyRun> runs;
};

/// One fault, with where it first shows.
struct PlacedFault {
    SupplyFault fault;
    SupplyEnd end;
    double knob;
};
std::vector<PlacedFault> faults_of(const SupplyRun& run);

// The writers; each returns the whole text.
std::string supply_table(const SupplyReport& report, bool bold);
std::string supply_json(const SupplyReport& report);

}  // namespace lowhiss::cli
