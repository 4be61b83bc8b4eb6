#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/series/centring.hpp"
#include "lowhiss/series/random_board.hpp"
#include "lowhiss/series/spread.hpp"

namespace lowhiss::cli {

/// A tolerance run with all that its writers print.
struct SpreadReport {
    std::string path;
    std::string board;
    std::string revision;
    std::string variant;  ///< empty: the plain board
    std::string capsule;  ///< empty: an ideal source
    std::optional<TemperatureRange> temperature_range;
    BoardSeries series;
    std::uint64_t first = 0;
    std::size_t boards = 0;  ///< finished
    std::size_t asked = 0;   ///< larger if the run was interrupted
    Spread spread;
    std::vector<std::string> not_varied;
    std::vector<std::string> set{};  ///< what was altered for this run
    std::optional<Centring> centring{};

    bool partial() const { return boards < asked; }
};

}  // namespace lowhiss::cli
