#pragma once

#include <string>
#include <vector>

#include "command/options.hpp"

namespace lowhiss::cli {

struct InspectOptions {
    CommonOptions common;
    AssemblyOptions assembly;
    std::string board;
    std::string graph;
};

void add_inspect(CLI::App& app, InspectOptions& options);

/// Status no_solution where an assembly is found to have no unique solution.
ExitStatus run_inspect(const InspectOptions& options);

/// One way of building the board, with all that is said of it.
struct InspectedAssembly {
    Board board;  ///< the variant's changes made
    std::string variant, summary;
    const Capsule* capsule = nullptr;
    std::vector<double> rotations;  ///< of the knob
    Diagnostics findings;           ///< each once, whatever the rotations it is true at
};

/// "Heron, revision C, variant condenser"
std::string title_of(const InspectedAssembly& assembly);

/// Parts, knob, capsule, nodes, feedback and findings, in lines of 80 columns at most.
std::string inspect_text(const InspectedAssembly& assembly, bool bold);

}  // namespace lowhiss::cli
