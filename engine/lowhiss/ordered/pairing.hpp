#pragma once

#include <set>
#include <string>
#include <vector>

#include "lowhiss/ordered/drawn.hpp"
#include "lowhiss/ordered/nets.hpp"

namespace lowhiss {

/// A pin that is drawn and in the data.
struct PlacedPin {
    const DrawnPin* drawn;
    const OrderedPin* ordered;
    int node;  ///< index in Pairing::nodes
    int net;   ///< of Pairing::net_ids

    /// As the data has it: "R1.2".
    std::string name() const { return drawn->device + "." + ordered->pin; }
};

struct MissingPart {
    std::string device;
    Position at;
};

/// Which drawn pin is which pin of the data. It points into both.
struct Pairing {
    std::vector<PlacedPin> pins;
    std::vector<std::string> nodes;       ///< names
    std::vector<int> net_ids;             ///< of each pin of the data; a pin alone has its own
    std::vector<bool> used;               ///< of each pin of the data, whether it is drawn
    std::set<std::string> known_devices;  ///< in capitals, as the data has them
    std::vector<MissingPart> missing_parts;
    std::vector<const DrawnPin*> missing_pins;
    std::vector<std::string> not_compared;
};

/// Finds the pins by designator and number, capitals or not; a designator of more than six
/// characters also by its first six, where those are unmistakable. A part that may be fitted either
/// way round is taken in the orientation in which its two nets have more other pins in common with
/// its two nodes. The surest parts are settled first and help to settle the rest, and at the end
/// each choice is tried the other way round. Quadratic in the number of such parts at worst.
Pairing pair_pins(const DrawnNets& drawn, const OrderedNets& ordered);

}  // namespace lowhiss
