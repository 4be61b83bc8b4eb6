#pragma once

#include <string>
#include <vector>

#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/circuit.hpp"

namespace lowhiss {

struct PinUse {
    int part;  ///< index into Circuit::parts
    std::size_t pin;
};

/// A circuit with the board that it was built from, to name nodes and parts as the board does.
/// Refers to both.
struct Netlist {
    const Board& board;
    const Circuit& circuit;
    std::vector<const Part*> part;             ///< of each circuit part; null if not on the board
    std::vector<std::vector<PinUse>> on_node;  ///< the pins on each node, in the board's order
};

Netlist netlist_of(const Board& assembled, const Circuit& circuit);

int capsule_index(const Circuit& circuit);
int load_index(const Circuit& circuit);

/// Whether the node exists only inside the macromodel of a part.
bool is_inner(const Netlist& netlist, int node);

/// Whether the board mentions node `a` before node `b`. Nodes inside macromodels come last.
bool stands_before(const Netlist& netlist, int a, int b);

/// Whether the pin is a plus, minus or reference input of an amplifier, which needs a path for its
/// bias current.
bool is_amplifier_input(const Netlist& netlist, const PinUse& use);

std::string label_of(const Netlist& netlist, const PinUse& use);

/// "R3 (boards/x.toml:12)"
std::string reference(const Netlist& netlist, int part);

/// All but the first of some parts, for a diagnostic whose position is that of the first:
/// "`before`R3 (x.toml:12) and R4 (x.toml:13)". Empty if there is only one.
std::string other_parts(const Netlist& netlist, const std::vector<int>& parts,
                        std::string_view before);

/// "'in' and 'out'"; nodes inside macromodels are left out.
std::string node_names(const Netlist& netlist, const std::vector<int>& nodes);

/// Parts with a pin on any of the nodes, in the board's order, each once.
std::vector<int> parts_on(const Netlist& netlist, const std::vector<int>& nodes);

/// "a, b and c"; of a long list the first eight and the number of the others.
std::string phrase(const std::vector<std::string>& words);

}  // namespace lowhiss
