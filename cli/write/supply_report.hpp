#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/supply.hpp"

namespace lowhiss::cli {

/// A fault, and the first end of the supply and knob position that show it.
struct PlacedFault {
    SupplyFault fault;
    SupplyEnd end;
    double knob;
};

/// DC voltages and currents of one assembly.
struct SupplyRun {
    std::string variant;  ///< empty: the plain board
    std::string summary;
    std::string capsule;  ///< empty: an ideal source
    std::vector<SupplyEnd> ends;
    std::vector<double> knob;                      ///< one unset without a knob
    std::vector<std::vector<SupplyState>> states;  ///< by end, then knob position
    std::vector<PlacedFault> faults;               ///< of a kind and part one per end
};

/// "feed", "battery", "regulator" or "source".
std::string_view source_kind_text(SourceState::Kind kind);

struct SupplyReport {
    const Board* board;
    std::vector<SupplyRun> runs;
};

}  // namespace lowhiss::cli
