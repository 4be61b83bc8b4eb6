#pragma once

#include <span>
#include <string>
#include <string_view>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// A phantom feed: a voltage on both signal wires, through one resistor each, with its return. It
/// belongs to the recorder or desk at the other end of the cable.
struct Feed {
    std::string standard;  ///< "P48"
    Pin plus;
    Pin minus;
    Pin ret;
    double voltage_v = unset;
    double voltage_tolerance_v = 0;  ///< largest deviation, either way
    double resistance_ohm = unset;   ///< of each resistor
    double matching = 0;             ///< largest relative difference between the resistors
    double mismatch = 0;  ///< actual relative difference; set by an analysis, not by the board file
    double current_limit_a = infinite;
    double noise_v_rthz = 0;  ///< of the voltage ahead of the resistors
    Position at;
};

/// P12, P24 and P48 of IEC 61938, without pins. The figures are those of the standard's table of
/// phantom power supplies, from copies of it, and from memory where the copies differ: check them
/// against the standard.
std::span<const Feed> standard_feeds();

}  // namespace lowhiss
