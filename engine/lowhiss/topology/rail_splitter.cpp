#include "lowhiss/topology/findings.hpp"

namespace lowhiss {

std::string splitter_advice(const Netlist& netlist, const std::vector<int>& parts) {
    for (const int number : parts) {
        const Part* part = netlist.part[static_cast<std::size_t>(number)];
        if (!part || !std::holds_alternative<OpAmp>(part->data)) continue;
        if (part->pins[2].node != netlist.board.ground) continue;
        return fmt::format(
            "if {} is to split the supply, make the negative end of the supply [board] ground, "
            "and name a node of its own, that of its output, as [input] minus and [output] minus",
            part->name);
    }
    return "";
}

}  // namespace lowhiss
