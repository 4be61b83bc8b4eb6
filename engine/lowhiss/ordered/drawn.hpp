#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// A pin of a device as the board file draws it.
struct DrawnPin {
    std::string part;
    std::string device;
    std::vector<std::string> numbers;  ///< the number, then other names that layouts have for it
    std::string node;
    Position at;
};

/// Two pins of a device that may change places without any effect.
struct DrawnPair {
    DrawnPin first;
    DrawnPin second;
};

/// The pins of a board that should be found in the data it is ordered with.
struct DrawnNets {
    std::vector<DrawnPin> pins;    ///< with their nodes
    std::vector<DrawnPair> pairs;  ///< of parts that may be fitted either way round
    std::vector<DrawnPin> supply;  ///< numbered by a pinout; the board file does not draw them
    std::vector<std::string> polarised;     ///< devices of two pins with a polarity
    std::vector<std::string> not_numbered;  ///< devices whose pin numbers are not known
    std::vector<std::string> off_board;     ///< devices that off-board parts are connected to
    std::vector<std::string> not_compared;  ///< what cannot be compared, and why, one line each
};

/// The name of the device that the part is, or is one unit of.
const std::string& device_of(const Part& part);

/// Whether [off_board] says where the part is connected, so that it is not on the board itself.
bool is_off_board(const Part& part, const Board& board);

/// Whether the part is a controlled or independent source, which is no component of the printed
/// board.
bool is_no_device(const Part& part);

/// Parts that are not fitted have their pads and count. Two-pin parts have the pins 1 and 2: the
/// plus pin, and the cathode of a diode, is 1 (IPC-7351B, from memory). A potentiometer has
/// 1, 2, 3 for ccw, wiper, cw.
DrawnNets drawn_nets(const Board& board);

}  // namespace lowhiss
