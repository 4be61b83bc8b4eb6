#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "lowhiss/text/diagnostic.hpp"

namespace lowhiss {

/// A pin in the data that a board house is sent.
struct OrderedPin {
    std::string device;  ///< "R1"
    std::string pin;     ///< "2"
    std::string net;     ///< empty: connected to no other pin
    Position at;
    bool net_may_be_cut = false;     ///< the name is as long as its column, and no alias says more
    bool device_may_be_cut = false;  ///< likewise
};

/// One line about what was read and left out: "12 holes without a pin".
using ReadingNote = std::string;

/// The pins of a board and how they are connected, each pin once. Names of devices and pins are
/// compared in capitals, as some writers make them.
struct OrderedNets {
    std::string path;  ///< of the file, or of the first of several layers
    std::vector<OrderedPin> pins;
    std::vector<OrderedPin> conflicts;     ///< a pin that is in `pins` too, but on another net
    std::vector<std::string> cut_devices;  ///< left out: several parts by one cut name
    std::vector<ReadingNote> notes;
};

/// The pins with repetitions taken out. A pin that was listed with another net before goes to
/// `conflicts`. The net of a single pin becomes empty.
OrderedNets each_pin_once(std::string path, std::vector<OrderedPin> listed);

}  // namespace lowhiss
