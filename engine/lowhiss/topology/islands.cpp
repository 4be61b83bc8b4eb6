#include "lowhiss/board/labels.hpp"
#include "lowhiss/quantity/visitor.hpp"
#include "lowhiss/text/nearest.hpp"
#include "lowhiss/topology/findings.hpp"

namespace lowhiss {
namespace {

using Nodes = std::vector<int>;

std::vector<bool> marks(const Netlist& netlist, const Nodes& nodes) {
    std::vector<bool> inside(netlist.circuit.nodes.size());
    for (const int node : nodes) inside[static_cast<std::size_t>(node)] = true;
    return inside;
}

/// The two nodes between which a current source is; twice the same for other elements.
struct SourceEnds {
    template <OneOf<CurrentSource, CurrentByVoltage, CurrentByCurrent> Law>
    NodePair operator()(const Law& e) const {
        return {e.a, e.b};
    }
    template <OneOf<Conductance, Capacitance, SeriesCapacitor, Branch, Coupling, MeasuredBranch,
                    VoltageByVoltage, VoltageByCurrent, Amplifier, PreampStage, Junction,
                    Transistor, RegulatorStage>
                  Law>
    NodePair operator()(const Law&) const {
        return {0, 0};
    }
};

/// Current sources with one end in the group and the other outside.
std::vector<int> sources_into(const Netlist& netlist, const Nodes& nodes) {
    const std::vector<bool> inside = marks(netlist, nodes);
    std::vector<int> parts;
    for (const Element& element : netlist.circuit.elements) {
        const auto [a, b] = std::visit(SourceEnds{}, element.law);
        const bool crosses =
            inside[static_cast<std::size_t>(a)] != inside[static_cast<std::size_t>(b)];
        if (crosses) parts.push_back(element.part);
    }
    return parts;
}

std::string floating_advice(const Netlist& netlist, const Nodes& nodes) {
    const std::string& name = netlist.circuit.nodes[static_cast<std::size_t>(nodes.front())];
    const auto& uses = netlist.on_node[static_cast<std::size_t>(nodes.front())];
    if (nodes.size() == 1 && uses.size() == 1) {
        std::vector<std::string> others;
        for (const NodePins& node : nodes_of(netlist.board)) {
            if (node.node != name) others.push_back(node.node);
        }
        std::string meant = did_you_mean(name, others);
        if (!meant.empty()) return meant;
    }
    return fmt::format("connect one of its nodes to '{}', through 1 MΩ if it is meant to float",
                       netlist.board.ground);
}

Finding floating(const Netlist& netlist, const Nodes& nodes) {
    const std::vector<int> parts = parts_on(netlist, nodes);
    Finding result = finding(netlist, Severity::error, "no-path-to-ground", parts.front());
    Diagnostic& d = result.diagnostic;
    d.found = fmt::format("there is no path from {} to ground{}", node_names(netlist, nodes),
                          other_parts(netlist, parts, "; also connected: "));
    d.accepted = fmt::format(
        "a path through parts from every node to '{}'; inputs and control pins do not count",
        netlist.board.ground);
    d.advice = splitter_advice(netlist, parts);
    if (d.advice.empty()) d.advice = floating_advice(netlist, nodes);
    return result;
}

Finding only_sources(const Netlist& netlist, const Nodes& nodes, const std::vector<int>& sources) {
    Finding result = finding(netlist, Severity::error, "only-current-sources", sources.front());
    Diagnostic& d = result.diagnostic;
    std::vector<std::string> words{"this one"};
    for (std::size_t k = 1; k < sources.size(); ++k)
        words.push_back(reference(netlist, sources[k]));
    d.found = fmt::format(
        "only {} {} to the rest of the circuit: the voltage there is undetermined",
        sources.size() == 1 ? "this current source connects"
                            : fmt::format("current sources, {}, connect", phrase(words)),
        node_names(netlist, nodes));
    d.accepted = "another path for the current";
    d.advice = fmt::format("connect an impedance from there to '{}'", netlist.board.ground);
    return result;
}

}  // namespace

std::vector<bool> find_islands(const Netlist& netlist, const Joins& joins, Findings& out) {
    std::vector<Nodes> groups = groups_without_ground(netlist, joins.current);
    std::vector<bool> reported(netlist.circuit.nodes.size());
    const auto is_reported = [&](int node) { return reported[static_cast<std::size_t>(node)]; };
    const auto take = [&](const Nodes& group) {
        for (const int node : group) reported[static_cast<std::size_t>(node)] = true;
    };
    for (const Nodes& group : groups) take(group);
    for (Nodes& group : groups_without_ground(netlist, joins.sensed)) {
        if (std::any_of(group.begin(), group.end(), is_reported)) continue;
        take(group);
        groups.push_back(std::move(group));
    }
    report(
        groups,
        [&](const Nodes& group) {
            const std::vector<int> sources = sources_into(netlist, group);
            return sources.empty() ? floating(netlist, group)
                                   : only_sources(netlist, group, sources);
        },
        out);
    return reported;
}

}  // namespace lowhiss
