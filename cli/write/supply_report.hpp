#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/measure/battery_life.hpp"
#include "lowhiss/measure/model_gap.hpp"
#include "lowhiss/measure/supply.hpp"

namespace lowhiss::cli {

/// A fault at one end of the supply, and the first knob position that shows it.
struct ListedFault {
    SupplyFault fault;
    SupplyEnd end;
    double knob;
    std::string accepted;  ///< the reason that the board gives; empty: it is not accepted
};

/// DC voltages and currents of one assembly.
struct SupplyRun {
    std::string variant;  ///< empty: the plain board
    std::string summary;
    std::string capsule;  ///< empty: an ideal source
    std::vector<SupplyEnd> ends;
    std::vector<double> knob;                      ///< one unset without a knob
    std::vector<std::vector<SupplyState>> states;  ///< by end, then knob position
    std::vector<ListedFault> faults;               ///< of a kind and part one per end
    std::vector<BatteryLife> life;                 ///< by knob position
    std::vector<AssumedIdeal> assumes_ideal;       ///< the figures that are best cases
};

/// "feed", "battery", "regulator" or "source".
std::string_view source_kind_text(SourceState::Kind kind);

struct SupplyReport {
    const Board* board;
    std::vector<SupplyRun> runs;
};

}  // namespace lowhiss::cli
