#pragma once

#include <span>
#include <vector>

namespace lowhiss {

class Setting;

/// The frequencies that a grid needs besides its own to show the peaks of the gain and of the
/// output noise between its ends: of each peak that stands higher than the grid's nearest points
/// its own, and those at which straight lines in decibels over ln f follow its flanks. Ascending;
/// empty where the grid shows all. Peaks end at 0.01 dB. `grid_hz` ascends. Throws as
/// Network::respond.
std::vector<double> peak_frequencies_hz(Setting& setting, std::span<const double> grid_hz);

}  // namespace lowhiss
