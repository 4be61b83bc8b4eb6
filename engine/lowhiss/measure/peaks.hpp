#pragma once

#include <span>
#include <vector>

namespace lowhiss {

class Setting;

/// Frequencies that a grid lacks, ascending.
struct Peaks {
    std::vector<double> top_hz;  ///< of peaks that stand 0.01 dB above the grid's nearest points
    std::vector<double>
        flank_hz;  ///< beside tops that lines in decibels over ln f would not follow
};

/// The peaks of the gain and of the output noise between the ends of a grid, which ascends. Throws
/// as Network::respond.
Peaks peaks_beside(Setting& setting, std::span<const double> grid_hz);

}  // namespace lowhiss
