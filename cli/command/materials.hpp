#pragma once

#include <string>
#include <utility>
#include <vector>

#include "lowhiss/ordered/materials.hpp"

namespace CLI {
class App;
}

namespace lowhiss::cli {

/// The options of `match`, `draft` and `report` that say how lists of materials are read.
struct MaterialsReading {
    std::vector<std::string> columns;
    std::vector<std::string> unfitted;
};

void add_materials_reading(CLI::App& command, MaterialsReading& reading);

/// Throws UsageError naming the option.
MaterialsOptions materials_options(const MaterialsReading& reading);

/// "NAME=VALUE" in two. Throws UsageError naming the option, with what is accepted, if either is
/// missing.
std::pair<std::string, std::string> name_and_value(const std::string& text, const char* option,
                                                   const char* accepted);

}  // namespace lowhiss::cli
