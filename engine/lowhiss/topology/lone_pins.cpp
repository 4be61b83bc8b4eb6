#include <map>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/topology/findings.hpp"

namespace lowhiss {
namespace {

/// The number of times each node is named on the whole board, by unfitted parts and open links as
/// well.
std::map<std::string, int, std::less<>> mentions(const Board& board) {
    std::map<std::string, int, std::less<>> count;
    for (const Part& part : board.parts) {
        for (const Pin& pin : part.pins) ++count[pin.node];
    }
    for (const Pin* pin :
         {&board.input.plus, &board.input.minus, &board.output.plus, &board.output.minus}) {
        ++count[pin->node];
    }
    return count;
}

/// A preamp IC with nothing between its gain pins has its lowest gain, which may be intended.
bool is_left_open_on_purpose(const Part& part, std::size_t pin,
                             const std::map<std::string, int, std::less<>>& count) {
    if (!std::holds_alternative<PreampIc>(part.data) || pin < 2 || pin > 3) return false;
    return count.at(part.pins[2].node) == 1 && count.at(part.pins[3].node) == 1;
}

}  // namespace

void find_lone_pins(const Netlist& netlist, const std::vector<bool>& reported, Findings& out) {
    const auto count = mentions(netlist.board);
    std::vector<int> lone;
    for (std::size_t node = 1; node < netlist.on_node.size(); ++node) {
        const auto& uses = netlist.on_node[node];
        if (uses.size() != 1 || reported[node] || count.at(netlist.circuit.nodes[node]) != 1)
            continue;
        const Part* part = netlist.part[static_cast<std::size_t>(uses.front().part)];
        if (!part || is_left_open_on_purpose(*part, uses.front().pin, count)) continue;
        lone.push_back(static_cast<int>(node));
    }
    report(
        lone,
        [&](int node) {
            const PinUse& use = netlist.on_node[static_cast<std::size_t>(node)].front();
            const std::string& name = netlist.circuit.nodes[static_cast<std::size_t>(node)];
            Finding result = finding(netlist, Severity::warning, "lone-pin", use.part);
            Diagnostic& d = result.diagnostic;
            d.subject = label_of(netlist, use);
            d.found = fmt::format("no other pin is on the node '{}'", name);
            d.accepted = "at least two pins on every node";
            std::vector<std::string> others;
            for (const auto& [other, mentioned] : count) {
                if (other != name) others.push_back(other);
            }
            d.advice = did_you_mean(name, others);
            return result;
        },
        out);
}

}  // namespace lowhiss
