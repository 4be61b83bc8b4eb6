#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"

namespace lowhiss {

/// A part's main value as a schematic shows it: "2.2 kΩ", "1:10", "closed", the name of a model.
std::string value_text(const Part& part);

// "1 %", "-20 % to 80 %", "±50 ppm/K"; empty if it has none.
std::string tolerance_text(const Part& part);
std::string temperature_coefficient_text(const Part& part);

/// "plus", "wiper", "primary.1"; empty on resistors, capacitors, inductors and links.
std::string pin_name(const Part& part, std::size_t pin);

/// "U1.plus", or "R1" where the pin needs no name.
std::string pin_label(const Part& part, std::size_t pin);

/// Whether the part is in the circuit: fitted, and no open link.
bool is_in_circuit(const Part& part);

/// A node with the labels of all that is connected to it: pins of fitted parts, with "(open)" after
/// those of open links, and the board's own "input.plus", "output.minus".
struct NodePins {
    std::string node;
    std::vector<std::string> pins;
};

/// Ground first, the others in the order in which the board mentions them.
std::vector<NodePins> nodes_of(const Board& assembled);

}  // namespace lowhiss
