#include <optional>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/topology/findings.hpp"

namespace lowhiss {
namespace {

struct Short {
    std::string pins;
    std::string node;
};

std::optional<Short> between(const Part& part, std::size_t a, std::size_t b, std::string pins) {
    if (part.pins[a].node != part.pins[b].node) return std::nullopt;
    return Short{std::move(pins), part.pins[a].node};
}

std::string words_for(const PinGroup& group) {
    if (group.key == "pins") return "both ends";
    if (group.key == "control") return "both control pins";
    if (group.key == "gain_pins") return "both gain pins";
    if (group.key == "supply") return "both supply pins";
    return fmt::format("both ends of the {}", group.key);
}

/// The first pair of pins that is on one node.
std::optional<Short> shorted_group(const Part& part) {
    std::size_t first = 0;
    for (const PinGroup& group : schema_of(part).pins) {
        if (first >= part.pins.size()) break;
        if (group.count == 2) {
            if (auto found = between(part, first, first + 1, words_for(group))) return found;
        }
        first += static_cast<std::size_t>(group.count);
    }
    return std::nullopt;
}

/// A potentiometer with its wiper on one end is a rheostat; only its two ends on one node are
/// suspicious.
std::optional<Short> shorted(const Part& part) {
    if (std::holds_alternative<Potentiometer>(part.data)) {
        return between(part, 0, 2, "both ends of the track");
    }
    if (std::holds_alternative<OpAmp>(part.data) || std::holds_alternative<PreampIc>(part.data)) {
        if (auto inputs = between(part, 0, 1, "both inputs")) return inputs;
    }
    if (std::holds_alternative<IndependentSource>(part.data)) {
        return between(part, 0, 1, "both ends");
    }
    return shorted_group(part);
}

}  // namespace

void find_shorted_parts(const Netlist& netlist, Findings& out) {
    std::vector<std::pair<int, Short>> found;
    for (std::size_t k = 0; k < netlist.part.size(); ++k) {
        const Part* part = netlist.part[k];
        if (!part || !is_in_circuit(*part)) continue;
        if (auto pins = shorted(*part)) found.emplace_back(static_cast<int>(k), *std::move(pins));
    }
    report(
        found,
        [&](const std::pair<int, Short>& one) {
            Finding result = finding(netlist, Severity::warning, "shorted-part", one.first);
            result.diagnostic.found =
                fmt::format("{} are on the node '{}'", one.second.pins, one.second.node);
            result.diagnostic.advice =
                "connect one of the pins to another node, or leave the part out";
            return result;
        },
        out);
}

}  // namespace lowhiss
