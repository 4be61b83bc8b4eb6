#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss::cli {

/// One table of a sweep's text. The option --show, its help and its error, and the line of tables
/// not printed all follow from these records.
struct SweepTable {
    std::string_view name;  ///< as --show takes it
    std::string_view heading;
    bool standard;                             ///< printed without --show
    std::string_view why_absent;               ///< printed if it was asked for and a run has none
    bool (*has)(const SweepRun& run);          ///< whether the run has any of its figures
    std::string (*text)(const SweepRun& run);  ///< without the heading
};

/// In the order in which they are printed.
std::span<const SweepTable> sweep_tables();

/// Every name, "all" last.
std::vector<std::string> sweep_table_names();

/// Which tables are printed; neither: the standard ones.
struct TableChoice {
    bool all = false;
    std::vector<std::string> names;  ///< each one of the tables

    bool shows(const SweepTable& table) const;
    bool asks_for(const SweepTable& table) const;  ///< by its name
};

/// From what --show was given: "all" anywhere means all.
TableChoice table_choice(const std::vector<std::string>& names);

}  // namespace lowhiss::cli
