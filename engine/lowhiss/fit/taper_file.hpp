#pragma once

#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

struct TaperPositions {
    std::vector<std::pair<double, double>> positions;  ///< rotation 0 to 1, and fraction or ohm
    bool in_ohm = false;
};

/// Reads a CSV of rotation, and fraction or resistance_ohm as its header says. Nothing after a
/// mistake, which is added to `out` with its line and column. Any bytes are safe to read.
std::optional<TaperPositions> read_taper_file(const std::shared_ptr<const Source>& file,
                                              Diagnostics& out);

}  // namespace lowhiss
