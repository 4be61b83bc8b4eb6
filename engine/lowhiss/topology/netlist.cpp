#include "lowhiss/topology/netlist.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <tuple>
#include <unordered_map>

#include "lowhiss/board/labels.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t longest_phrase = 8;

using NodeIndex = std::unordered_map<std::string, std::size_t>;

NodeIndex index_of(const std::vector<std::string>& nodes) {
    NodeIndex index;
    for (std::size_t k = 0; k < nodes.size(); ++k) index.emplace(nodes[k], k);
    return index;
}

std::tuple<int, std::size_t> first_use(const Netlist& netlist, int node) {
    const auto& uses = netlist.on_node[static_cast<std::size_t>(node)];
    if (uses.empty()) return {std::numeric_limits<int>::max(), static_cast<std::size_t>(node)};
    return {uses.front().part, uses.front().pin};
}

void add_use(const NodeIndex& index, const Pin& pin, PinUse use, Netlist& netlist) {
    const auto found = index.find(pin.node);
    if (found != index.end()) netlist.on_node[found->second].push_back(use);
}

/// Whether a pin takes a bias current, one overload per kind of part.
struct IsAmplifierInput {
    std::size_t pin;

    bool operator()(const OpAmp&) const { return pin < 2; }
    bool operator()(const PreampIc&) const { return pin < 2 || pin == 5; }
    template <OneOf<Bipolar, Jfet> Data>
    bool operator()(const Data&) const {
        return pin == 1;
    }
    template <OneOf<Resistor, Capacitor, Inductor, Transformer, Potentiometer, Link,
                    ControlledSource, IndependentSource, Diode, Battery, Regulator>
                  Data>
    bool operator()(const Data&) const {
        return false;
    }
};

}  // namespace

Netlist netlist_of(const Board& assembled, const Circuit& circuit) {
    Netlist netlist{assembled, circuit, {}, {}};
    netlist.on_node.resize(circuit.nodes.size());
    const NodeIndex index = index_of(circuit.nodes);
    for (const Part& part : assembled.parts) {
        if (!part.fitted) continue;
        const int number = static_cast<int>(netlist.part.size());
        netlist.part.push_back(&part);
        if (!is_in_circuit(part)) continue;
        for (std::size_t k = 0; k < part.pins.size(); ++k) {
            add_use(index, part.pins[k], {number, k}, netlist);
        }
    }
    if (const auto& feed = assembled.feed) {
        const int number = static_cast<int>(netlist.part.size());
        add_use(index, feed->plus, {number, 0}, netlist);
        add_use(index, feed->minus, {number, 1}, netlist);
        add_use(index, feed->ret, {number, 2}, netlist);
    }
    netlist.part.resize(circuit.parts.size());
    const Input& input = assembled.input;
    const Output& output = assembled.output;
    add_use(index, input.plus, {capsule_index(circuit), 0}, netlist);
    add_use(index, input.minus, {capsule_index(circuit), 1}, netlist);
    add_use(index, output.plus, {load_index(circuit), 0}, netlist);
    add_use(index, output.minus, {load_index(circuit), 1}, netlist);
    return netlist;
}

int capsule_index(const Circuit& circuit) {
    return static_cast<int>(circuit.parts.size()) - 2;
}
int load_index(const Circuit& circuit) {
    return static_cast<int>(circuit.parts.size()) - 1;
}

bool is_inner(const Netlist& netlist, int node) {
    return node != 0 && netlist.on_node[static_cast<std::size_t>(node)].empty();
}

bool stands_before(const Netlist& netlist, int a, int b) {
    return first_use(netlist, a) < first_use(netlist, b);
}

bool is_amplifier_input(const Netlist& netlist, const PinUse& use) {
    const Part* part = netlist.part[static_cast<std::size_t>(use.part)];
    return part != nullptr && std::visit(IsAmplifierInput{use.pin}, part->data);
}

std::string label_of(const Netlist& netlist, const PinUse& use) {
    if (const Part* part = netlist.part[static_cast<std::size_t>(use.part)]) {
        return pin_label(*part, use.pin);
    }
    const std::string_view side = use.pin == 0 ? "plus" : use.pin == 1 ? "minus" : "return";
    const std::string_view table = use.part == capsule_index(netlist.circuit) ? "input"
                                   : use.part == load_index(netlist.circuit)  ? "output"
                                                                              : feed_part;
    return fmt::format("{}.{}", table, side);
}

std::string reference(const Netlist& netlist, int part) {
    const CircuitPart& named = netlist.circuit.parts[static_cast<std::size_t>(part)];
    if (!named.at.source) return named.name;
    return fmt::format("{} ({}:{})", named.name, named.at.source->path, named.at.line);
}

std::string other_parts(const Netlist& netlist, const std::vector<int>& parts,
                        std::string_view before) {
    std::vector<std::string> words;
    for (std::size_t k = 1; k < parts.size(); ++k) words.push_back(reference(netlist, parts[k]));
    return words.empty() ? "" : fmt::format("{}{}", before, phrase(words));
}

std::string node_names(const Netlist& netlist, const std::vector<int>& nodes) {
    std::vector<std::string> words;
    for (const int node : nodes) {
        if (is_inner(netlist, node)) continue;
        words.push_back("'" + netlist.circuit.nodes[static_cast<std::size_t>(node)] + "'");
    }
    return phrase(words);
}

std::vector<int> parts_on(const Netlist& netlist, const std::vector<int>& nodes) {
    std::vector<int> parts;
    for (const int node : nodes) {
        for (const PinUse& use : netlist.on_node[static_cast<std::size_t>(node)]) {
            parts.push_back(use.part);
        }
    }
    std::sort(parts.begin(), parts.end());
    parts.erase(std::unique(parts.begin(), parts.end()), parts.end());
    return parts;
}

std::string phrase(const std::vector<std::string>& words) {
    std::string text;
    for (std::size_t k = 0; k < words.size(); ++k) {
        if (k == longest_phrase && words.size() > longest_phrase + 1) {
            return text + fmt::format(" and {} more", words.size() - k);
        }
        const bool last = k + 1 == words.size();
        text += (k == 0 ? "" : last ? " and " : ", ") + words[k];
    }
    return text;
}

}  // namespace lowhiss
