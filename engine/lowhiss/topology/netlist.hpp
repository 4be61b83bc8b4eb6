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

/// The circuit beside the board it was built from, to speak of the one in the words of the other.
/// Refers to both.
struct Netlist {
    const Board& board;
    const Circuit& circuit;
    std::vector<const Part*> part;             ///< of each circuit part; null: capsule and load
    std::vector<std::vector<PinUse>> on_node;  ///< of each circuit node, in the board's order
};

Netlist netlist_of(const Board& assembled, const Circuit& circuit);

int capsule_index(const Circuit& circuit);
int load_index(const Circuit& circuit);

/// The node exists only inside a part's macromodel.
bool is_inner(const Netlist& netlist, int node);

/// Whether the board mentions node `a` before node `b`. Nodes inside macromodels come last.
bool stands_before(const Netlist& netlist, int a, int b);

/// plus, minus or reference of an amplifier: it takes a bias current and gives none.
bool is_amplifier_input(const Netlist& netlist, const PinUse& use);

std::string label_of(const Netlist& netlist, const PinUse& use);

/// "R3 (boards/x.toml:12)"
std::string reference(const Netlist& netlist, int part);

/// All but the first of some parts, which a diagnostic's position stands for: "`before`R3
/// (x.toml:12) and R4 (x.toml:13)"; empty where there are none.
std::string other_parts(const Netlist& netlist, const std::vector<int>& parts,
                        std::string_view before);

/// "'in' and 'out'"; nodes that exist only inside a macromodel are left out.
std::string node_names(const Netlist& netlist, const std::vector<int>& nodes);

/// Parts with a pin on any of the nodes, in the board's order, each once.
std::vector<int> parts_on(const Netlist& netlist, const std::vector<int>& nodes);

/// "a, b and c"; of a long list the first eight and how many more there are.
std::string phrase(const std::vector<std::string>& words);

}  // namespace lowhiss
