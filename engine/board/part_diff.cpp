#include "lowhiss/board/part_diff.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

using NodeMap = std::map<std::string, std::string>;

std::string taper_text(const Taper& taper) {
    switch (taper.kind) {
        case Taper::Kind::linear:
            return "linear";
        case Taper::Kind::log:
            return "log";
        case Taper::Kind::reverse_log:
            return "reverse-log";
        case Taper::Kind::table:
            break;
    }
    std::string text = "taper";
    for (const auto& [rotation, fraction] : taper.points) {
        text += fmt::format(" {}:{}", rotation, fraction);
    }
    return text;
}

/// A figure that differs from the one of a part of which nothing was said.
void add_figures(const Part& part, std::string& text) {
    const PartSchema& schema = schema_of(part);
    PartData data = part.data;
    PartData blank = schema.blank;
    for (const auto& field : schema.fields) {
        const double value = field.slot(data);
        if (value == field.slot(blank)) continue;
        const bool main = field.key == schema.keyword;
        text += main ? fmt::format(" {}", print_quantity(value, field.unit))
                     : fmt::format(", {} {}", field.key, print_quantity(value, field.unit));
    }
}

/// For each node of the board before, the one after that shares most pins with it.
NodeMap matched_nodes(const Board& before, const Board& after) {
    std::map<std::pair<std::string, std::string>, int> votes;
    for (const Part& part : after.parts) {
        const Part* earlier = find_part(before, part.name);
        if (!earlier || earlier->pins.size() != part.pins.size()) continue;
        for (std::size_t k = 0; k < part.pins.size(); ++k) {
            ++votes[{earlier->pins[k].node, part.pins[k].node}];
        }
    }
    std::vector<std::tuple<int, std::string, std::string>> ranked;
    for (const auto& [pair, count] : votes) {
        const int same_name = pair.first == pair.second ? 1 : 0;
        ranked.emplace_back(-(2 * count + same_name), pair.first, pair.second);
    }
    std::sort(ranked.begin(), ranked.end());
    NodeMap matched{{before.ground, after.ground}};
    std::set<std::string> taken{after.ground};
    for (const auto& [rank, from, to] : ranked) {
        if (!matched.contains(from) && taken.insert(to).second) matched[from] = to;
    }
    return matched;
}

bool follows(const Part& before, const Part& after, const NodeMap& nodes) {
    return std::equal(before.pins.begin(), before.pins.end(), after.pins.begin(), after.pins.end(),
                      [&](const Pin& a, const Pin& b) {
                          const auto match = nodes.find(a.node);
                          return match != nodes.end() && match->second == b.node;
                      });
}

std::string pins_text(const Part& part) {
    std::string text;
    for (const Pin& pin : part.pins) text += (text.empty() ? "" : ", ") + pin.node;
    return text;
}

}  // namespace

std::string part_text(const Part& part) {
    std::string text(schema_of(part).keyword);
    if (const auto* link = std::get_if<Link>(&part.data))
        text += link->closed ? " closed" : " open";
    if (const auto* opamp = std::get_if<OpAmp>(&part.data)) text += " " + opamp->model;
    if (const auto* ic = std::get_if<PreampIc>(&part.data)) text += " " + ic->model;
    add_figures(part, text);
    if (const auto* potentiometer = std::get_if<Potentiometer>(&part.data)) {
        text += ", " + taper_text(potentiometer->taper);
    }
    return part.fitted ? text : text + ", not fitted";
}

std::vector<PartChange> part_changes(const Board& before, const Board& after) {
    using Kind = PartChange::Kind;
    const NodeMap nodes = matched_nodes(before, after);
    std::vector<PartChange> changes;
    for (const Part& part : after.parts) {
        const Part* earlier = find_part(before, part.name);
        if (!earlier) {
            changes.push_back({Kind::added, part.name, "", part_text(part)});
            continue;
        }
        if (part_text(*earlier) != part_text(part)) {
            changes.push_back({Kind::changed, part.name, part_text(*earlier), part_text(part)});
        }
        if (!follows(*earlier, part, nodes)) {
            changes.push_back({Kind::rewired, part.name, pins_text(*earlier), pins_text(part)});
        }
    }
    for (const Part& part : before.parts) {
        if (find_part(after, part.name)) continue;
        changes.push_back({Kind::removed, part.name, part_text(part), ""});
    }
    return changes;
}

}  // namespace lowhiss
