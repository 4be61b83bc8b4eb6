#pragma once

#include <span>
#include <string>
#include <vector>

#include "lowhiss/measure/supply.hpp"

namespace lowhiss {

class Setting;

/// A fault of a part where it is worst: over the ends of the supply, and over the knob positions if
/// there are several.
struct PlacedFault {
    SupplyFault fault;
    SupplyEnd end = SupplyEnd::nominal;
    std::string supply;  ///< that end in words: "batteries empty"
    bool at_every_end = true;
    double knob = unset;  ///< unset without a knob
    bool at_every_knob = true;
    std::string accepted;  ///< the reason that the board gives; empty: it is not accepted
};

/// Why the board accepts the fault; empty if it does not. `assembled` is of `with_variant`.
std::string reason_accepted(const Board& assembled, const std::string& part, FaultKind fault);

/// Each fault of each part once. Empty for a board without any supply. Throws as operating_point
/// does.
std::vector<PlacedFault> faults_at(Setting& setting);

/// The faults of several knob positions, each fault of a part once.
std::vector<PlacedFault> over_positions(std::span<const std::vector<PlacedFault>> positions);

/// "C3: polarised and reverse biased by 2 V; batteries empty, knob 25 %"
std::string text_of(const PlacedFault& placed);

}  // namespace lowhiss
