#pragma once

#include <span>
#include <string>
#include <string_view>

#include "lowhiss/board/part.hpp"

namespace lowhiss {

/// A phantom feed: a voltage that reaches both signal wires through one resistor each and comes
/// back on the return. It belongs to the recorder or desk at the other end of the cable.
struct Feed {
    std::string standard;  ///< "P48"
    Pin plus;
    Pin minus;
    Pin ret;
    double voltage_v = unset;
    double voltage_tolerance_v = 0;  ///< either way
    double resistance_ohm = unset;   ///< of each of the two
    double matching = 0;             ///< by what part of itself one may differ from the other
    double mismatch = 0;             ///< by which one does; set by who asks, not by the board
    double current_limit_a = infinite;
    double noise_v_rthz = 0;  ///< of the voltage ahead of the resistors
    Position at;
};

/// The feeds of IEC 61938: P12, P24 and P48, without pins. Source: IEC 61938, the table of phantom
/// power supplies, as copies of it have it; from memory where the copies differ, check against the
/// standard.
std::span<const Feed> standard_feeds();

}  // namespace lowhiss
