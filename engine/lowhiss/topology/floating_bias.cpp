#include "lowhiss/topology/findings.hpp"

namespace lowhiss {
namespace {

using Nodes = std::vector<int>;

std::vector<PinUse> inputs_on(const Netlist& netlist, const Nodes& nodes) {
    std::vector<PinUse> inputs;
    for (const int node : nodes) {
        for (const PinUse& use : netlist.on_node[static_cast<std::size_t>(node)]) {
            if (is_amplifier_input(netlist, use)) inputs.push_back(use);
        }
    }
    std::sort(inputs.begin(), inputs.end(), [](const PinUse& a, const PinUse& b) {
        return std::pair(a.part, a.pin) < std::pair(b.part, b.pin);
    });
    return inputs;
}

std::string labels(const Netlist& netlist, const std::vector<PinUse>& uses) {
    std::vector<std::string> words;
    words.reserve(uses.size());
    for (const PinUse& use : uses) words.push_back(label_of(netlist, use));
    return phrase(words);
}

Finding no_direct_path(const Netlist& netlist, const Nodes& nodes) {
    const std::vector<PinUse> inputs = inputs_on(netlist, nodes);
    std::vector<int> parts = parts_on(netlist, nodes);
    const int subject = inputs.empty() ? parts.front() : inputs.front().part;
    std::stable_partition(parts.begin(), parts.end(), [&](int p) { return p == subject; });
    Finding result = finding(netlist, Severity::warning, "no-direct-path", subject);
    Diagnostic& d = result.diagnostic;
    const std::string names = node_names(netlist, nodes);
    d.found = inputs.empty()
                  ? fmt::format(
                        "there is no path for direct current from {} to ground: the voltage "
                        "there drifts",
                        names)
                  : fmt::format("the bias current of {} has no path from {} to ground",
                                labels(netlist, inputs), names);
    d.found += other_parts(netlist, parts, "; also connected: ");
    d.accepted = "a path through resistors, windings or outputs; leakage does not count";
    d.advice = splitter_advice(netlist, parts);
    if (d.advice.empty()) {
        d.advice = fmt::format("connect a resistor from there to '{}'", netlist.board.ground);
    }
    return result;
}

}  // namespace

void find_floating_bias(const Netlist& netlist, const Joins& joins,
                        const std::vector<bool>& reported, Findings& out) {
    std::vector<Nodes> groups = groups_without_ground(netlist, joins.direct);
    std::erase_if(groups, [&](const Nodes& group) {
        return std::all_of(group.begin(), group.end(), [&](int node) {
            return is_inner(netlist, node) || reported[static_cast<std::size_t>(node)];
        });
    });
    report(
        groups, [&](const Nodes& group) { return no_direct_path(netlist, group); }, out);
}

}  // namespace lowhiss
