#include "lowhiss/board/labels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <unordered_map>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/print.hpp"
#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

std::string main_figure_text(const Part& part) {
    const Field<PartData>& field = schema_of(part).fields.front();
    PartData data = part.data;
    return print_quantity(field.slot(data), field.unit);
}

/// Empty if both ends are 0 or the part has no such figure.
std::string two_ended_text(const Part& part, std::string_view key) {
    PartData data = part.data;
    for (const Field<PartData>& field : schema_of(part).fields) {
        if (field.key != key || (field.slot(data) == 0 && field.ends.low_slot(data) == 0)) continue;
        return figure_text(field, data,
                           [&](double value) { return print_quantity(value, field.unit); });
    }
    return "";
}

/// The group that a pin belongs to, and its index there.
std::pair<const PinGroup*, std::size_t> group_of(const Part& part, std::size_t pin) {
    for (const PinGroup& group : schema_of(part).pins) {
        const auto count = static_cast<std::size_t>(group.count);
        if (pin < count) return {&group, pin};
        pin -= count;
    }
    return {nullptr, pin};
}

/// Whether labels name only the part: its pins are alike, or marked on the part itself.
bool has_nameless_pins(const Part& part) {
    return is_reversible(part) || std::holds_alternative<Capacitor>(part.data);
}

class NodeList {
  public:
    void add(const std::string& node, std::string label) {
        const auto [entry, is_new] = index_.emplace(node, nodes.size());
        if (is_new) nodes.push_back({node, {}});
        if (!label.empty()) nodes[entry->second].pins.push_back(std::move(label));
    }

    std::vector<NodePins> nodes;

  private:
    std::unordered_map<std::string, std::size_t> index_;
};

}  // namespace

std::string value_text(const Part& part) {
    return std::visit(
        Overloads{[](const Link& link) { return std::string(link.closed ? "closed" : "open"); },
                  [](const OneOf<OpAmp, PreampIc, Bipolar, Jfet, Battery> auto& made) {
                      return made.model;
                  },
                  [](const Transformer& transformer) {
                      return "1:" + print_quantity(transformer.ratio, Unit::number);
                  },
                  [&](const OneOf<Resistor, Capacitor, Inductor, Potentiometer, ControlledSource,
                                  IndependentSource, Diode, Regulator> auto&) {
                      return main_figure_text(part);
                  }},
        part.data);
}

std::string tolerance_text(const Part& part) {
    return two_ended_text(part, "tolerance");
}

std::string temperature_coefficient_text(const Part& part) {
    return two_ended_text(part, "temperature_coefficient");
}

std::string pin_name(const Part& part, std::size_t pin) {
    if (has_nameless_pins(part)) return "";
    if (std::holds_alternative<Potentiometer>(part.data)) {
        constexpr std::array names{"ccw", "wiper", "cw"};
        return names.at(pin);
    }
    const auto [group, place] = group_of(part, pin);
    if (!group) return "";
    if (group->count == 1) return std::string(group->key);
    if (group->key == "pins") return place == 0 ? "p" : "n";
    return fmt::format("{}.{}", group->key, place + 1);
}

std::string pin_label(const Part& part, std::size_t pin) {
    const std::string name = pin_name(part, pin);
    return name.empty() ? part.name : part.name + "." + name;
}

bool is_in_circuit(const Part& part) {
    const auto* link = std::get_if<Link>(&part.data);
    return part.fitted && (link == nullptr || link->closed);
}

std::vector<NodePins> nodes_of(const Board& assembled) {
    NodeList list;
    list.add(assembled.ground, "");
    for (const Part& part : assembled.parts) {
        if (!part.fitted) continue;
        const std::string state = is_in_circuit(part) ? "" : " (open)";
        for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
            list.add(part.pins[pin].node, pin_label(part, pin) + state);
        }
    }
    list.add(assembled.input.plus.node, "input.plus");
    list.add(assembled.input.minus.node, "input.minus");
    list.add(assembled.output.plus.node, "output.plus");
    list.add(assembled.output.minus.node, "output.minus");
    if (const auto& feed = assembled.feed) {
        list.add(feed->plus.node, "feed.plus");
        list.add(feed->minus.node, "feed.minus");
        if (feed->ret.node != assembled.ground) list.add(feed->ret.node, "feed.return");
    }
    return std::move(list.nodes);
}

}  // namespace lowhiss
