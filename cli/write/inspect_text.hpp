#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss::cli {

/// A board in one variant with one capsule, and what was found wrong with it.
struct InspectedAssembly {
    Board board;  ///< with the variant's changes
    std::string variant;
    std::string summary;
    const Capsule* capsule = nullptr;  ///< null: an ideal source
    std::vector<double> rotations;     ///< of the knob
    Diagnostics findings;              ///< each once, however many rotations it holds at
};

/// "Heron, revision C, variant condenser"
std::string title_of(const InspectedAssembly& assembly);

/// Parts, knob, capsule, nodes, feedback and findings, in lines of 80 columns at most.
std::string inspect_text(const InspectedAssembly& assembly, bool bold);

}  // namespace lowhiss::cli
