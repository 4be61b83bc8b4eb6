#include "lowhiss/ordered/match.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "lowhiss/ordered/pairing.hpp"
#include "lowhiss/quantity/ascii.hpp"
#include "lowhiss/quantity/quote.hpp"

namespace lowhiss {
namespace {

constexpr std::array<std::string_view, 14> titles{
    "joined nets", "split net",       "turned part",  "exchanged pins", "moved pins",
    "stray pin",   "pin on two nets", "missing part", "missing pin",    "extra part",
    "value",       "not listed",      "not fitted",   "not known"};

using PinList = std::vector<const PlacedPin*>;

/// "R1.2, C3.1 and 4 more".
std::string pins_text(const PinList& pins) {
    constexpr std::size_t most_named = 6;
    std::vector<std::string> names;
    for (const PlacedPin* pin : pins) names.push_back(pin->name());
    std::sort(names.begin(), names.end());
    const std::size_t more = names.size() > most_named ? names.size() - most_named : 0;
    names.resize(names.size() - more);
    std::string text = fmt::format("{}", fmt::join(names, ", "));
    if (more > 0) text += fmt::format(" and {} more", more);
    return text;
}

/// The name that the data has for a net, where it has one.
std::string net_text(const OrderedPin& pin) {
    return pin.net.empty() ? "a net of its own" : "the net " + quote(pin.net);
}

class Comparison {
  public:
    Comparison(const Board& board, const OrderedNets& ordered)
        : board_(board),
          ordered_(ordered),
          drawn_(drawn_nets(board)),
          pairing_(pair_pins(drawn_, ordered)) {}

    Match match() {
        match_.not_compared = drawn_.not_compared;
        for (const std::string& line : pairing_.not_compared) match_.not_compared.push_back(line);
        match_.notes = ordered_.notes;
        for (const PlacedPin& pin : pairing_.pins) groups_[{pin.node, pin.net}].push_back(&pin);
        assign();
        tell_missing();
        tell_deviations();
        tell_rest();
        tell_conflicts();
        count();
        std::stable_sort(match_.findings.begin(), match_.findings.end(), is_worse);
        return std::move(match_);
    }

  private:
    using Group = std::pair<int, int>;  ///< node and net

    /// Each net becomes that of the node which has most pins on it, the largest groups first.
    void assign() {
        std::vector<Group> order;
        for (const auto& [group, pins] : groups_) order.push_back(group);
        std::stable_sort(order.begin(), order.end(), [&](const Group& a, const Group& b) {
            return groups_[a].size() > groups_[b].size();
        });
        for (const auto& [node, net] : order) {
            if (net_of_.contains(node) || node_of_.contains(net)) continue;
            net_of_[node] = net;
            node_of_[net] = node;
        }
    }

    void add(FindingKind kind, std::string text, const PinList& pins) {
        OrderFinding finding{kind, std::move(text), {}, {}, {}};
        for (const PlacedPin* pin : pins) finding.pins.push_back(pin->name());
        if (!pins.empty()) {
            finding.drawn = pins.front()->drawn->at;
            finding.ordered = pins.front()->ordered->at;
        }
        match_.findings.push_back(std::move(finding));
    }

    std::string node_text(int node) const {
        return "node " + quote(pairing_.nodes[static_cast<std::size_t>(node)]);
    }

    void tell_deviations() {
        std::map<int, std::vector<int>> joined;  // nodes without a net of their own, by net
        std::map<int, std::vector<int>> pieces;  // further nets, by node
        std::set<Group> told;
        for (const auto& [group, pins] : groups_) {
            const auto [node, net] = group;
            const auto own = net_of_.find(node);
            if (own != net_of_.end() && own->second == net) continue;
            if (own == net_of_.end())
                joined[net].push_back(node);
            else if (!node_of_.contains(net))
                pieces[node].push_back(net);
            else if (!told.contains(group))
                tell_moved(group, told);
        }
        for (const auto& [net, nodes] : joined) tell_joined(net, nodes);
        for (const auto& [node, nets] : pieces) tell_split(node, nets);
    }

    void tell_joined(int net, const std::vector<int>& nodes) {
        const int owner = node_of_.at(net);
        const PinList& first = groups_[{owner, net}];
        std::string text = fmt::format("{} ({})", node_text(owner), pins_text(first));
        PinList all;
        for (const int node : nodes) {
            const PinList& pins = groups_[{node, net}];
            text += fmt::format(" and {} ({})", node_text(node), pins_text(pins));
            all.insert(all.end(), pins.begin(), pins.end());
        }
        all.insert(all.end(), first.begin(), first.end());
        const OrderedPin& pin = *first.front()->ordered;
        if (pin.net_may_be_cut) {
            add(FindingKind::may_be_cut,
                fmt::format("{} are both on the net {}: may be two nets whose names were cut to 14 "
                            "characters; compare the copper layers too, or shorten the names",
                            text, quote(pin.net)),
                all);
        } else {
            add(FindingKind::joined, fmt::format("{} are joined in {}", text, net_text(pin)), all);
        }
    }

    void tell_split(int node, const std::vector<int>& nets) {
        PinList all = groups_[{node, net_of_.at(node)}];
        std::string text = fmt::format("{} is in pieces: {}", node_text(node), pins_text(all));
        PinList apart;
        for (const int net : nets) {
            const PinList& pins = groups_[{node, net}];
            text += fmt::format("; {}", pins_text(pins));
            apart.insert(apart.end(), pins.begin(), pins.end());
        }
        apart.insert(apart.end(), all.begin(), all.end());
        add(FindingKind::split, std::move(text), apart);
    }

    /// Pins of one node on the net of another that has a net of its own.
    void tell_moved(const Group& group, std::set<Group>& told) {
        const auto [node, net] = group;
        const int other = node_of_.at(net);
        const Group back{other, net_of_.at(node)};
        const PinList& pins = groups_[group];
        const auto opposite = groups_.find(back);
        told.insert(group);
        if (opposite != groups_.end() && pins.size() == 1 && opposite->second.size() == 1) {
            told.insert(back);
            const PlacedPin* here = pins.front();
            const PlacedPin* there = opposite->second.front();
            prefer_one_device(node, other, here, there);
            return tell_exchanged(*here, *there);
        }
        add(FindingKind::moved,
            fmt::format("{} {} drawn on {} and {} on {}, with {}", pins_text(pins),
                        pins.size() == 1 ? "is" : "are", node_text(node),
                        pins.size() == 1 ? "is" : "are", node_text(other),
                        pins_text(groups_[{other, net}])),
            pins);
    }

    /// If two nodes have two pins each, any two of these may have changed places; two pins of one
    /// device are the more likely ones.
    void prefer_one_device(int node, int other, const PlacedPin*& here, const PlacedPin*& there) {
        const PinList& mine = groups_[{node, net_of_.at(node)}];
        const PinList& theirs = groups_[{other, net_of_.at(other)}];
        if (here->drawn->device == there->drawn->device || mine.size() != 1 || theirs.size() != 1)
            return;
        if (mine.front()->drawn->device != theirs.front()->drawn->device) return;
        here = mine.front();
        there = theirs.front();
    }

    void tell_exchanged(const PlacedPin& a, const PlacedPin& b) {
        const std::string& device = a.drawn->device;
        const auto& polarised = drawn_.polarised;
        if (device == b.drawn->device &&
            std::find(polarised.begin(), polarised.end(), device) != polarised.end()) {
            return add(
                FindingKind::turned,
                fmt::format("{} is the wrong way round: {} should be on {}, {} on {}", device,
                            a.name(), node_text(a.node), b.name(), node_text(b.node)),
                {&a, &b});
        }
        add(FindingKind::exchanged,
            fmt::format("{} and {} are exchanged: {} should be on {}, {} on {}", a.name(), b.name(),
                        a.name(), node_text(a.node), b.name(), node_text(b.node)),
            {&a, &b});
    }

    void tell_missing() {
        for (const MissingPart& part : pairing_.missing_parts) {
            match_.findings.push_back({FindingKind::missing_part,
                                       fmt::format("{} is drawn and not in the data", part.device),
                                       {part.device},
                                       part.at,
                                       {}});
        }
        for (const DrawnPin* pin : pairing_.missing_pins) {
            const std::string name = pin->device + "." + pin->numbers.front();
            match_.findings.push_back(
                {FindingKind::missing_pin,
                 fmt::format("{} is drawn on node {} and not in the data: not connected, or "
                             "numbered otherwise",
                             name, quote(pin->node)),
                 {name},
                 pin->at,
                 {}});
        }
    }

    bool is_not_simulated(const OrderedPin& pin) const {
        return std::any_of(
            board_.not_simulated.begin(), board_.not_simulated.end(),
            [&](const NotSimulated& named) {
                return upper_case(named.device) == upper_case(pin.device) &&
                       (named.pin.empty() || upper_case(named.pin) == upper_case(pin.pin));
            });
    }

    static bool names_device(const std::vector<std::string>& devices, const OrderedPin& pin) {
        return std::any_of(devices.begin(), devices.end(), [&](const std::string& device) {
            return upper_case(device) == upper_case(pin.device);
        });
    }

    /// The pins that are not drawn.
    void tell_rest() {
        std::map<std::string, std::vector<const OrderedPin*>> extra;
        std::vector<std::string> beside;
        for (std::size_t k = 0; k < ordered_.pins.size(); ++k) {
            const OrderedPin& pin = ordered_.pins[k];
            if (pairing_.used[k] || is_not_simulated(pin)) continue;
            if (!pairing_.known_devices.contains(upper_case(pin.device))) {
                extra[pin.device].push_back(&pin);
            } else if (tell_stray(pin, pairing_.net_ids[k])) {
                beside.push_back(pin.device + "." + pin.pin);
            }
        }
        for (const auto& [device, pins] : extra) {
            match_.findings.push_back(
                {FindingKind::extra_part, not_drawn_text(device), {device}, {}, pins.front()->at});
        }
        if (beside.empty()) return;
        match_.not_compared.push_back(fmt::format(
            "{}: not drawn, on nets without a drawn pin, or on ground", fmt::join(beside, ", ")));
    }

    /// For a pin that is not drawn, of a device that is: makes a finding if its net is that of a
    /// node, and returns whether nothing can be said of the pin. For a pin without a net it does
    /// neither.
    bool tell_stray(const OrderedPin& pin, int net) {
        if (pin.net.empty()) return false;
        const auto node = node_of_.find(net);
        if (node == node_of_.end()) return true;
        const auto supply =
            std::find_if(drawn_.supply.begin(), drawn_.supply.end(), [&](const DrawnPin& known) {
                return upper_case(known.device) == upper_case(pin.device) &&
                       upper_case(known.numbers.front()) == upper_case(pin.pin);
            });
        const bool is_supply = supply != drawn_.supply.end();
        if (!is_supply && names_device(drawn_.not_numbered, pin)) return false;
        const bool grounded =
            pairing_.nodes[static_cast<std::size_t>(node->second)] == board_.ground;
        if (grounded && (is_supply || names_device(drawn_.off_board, pin))) return true;
        const PinList& others = groups_[{node->second, net}];
        const std::string name = pin.device + "." + pin.pin;
        OrderFinding finding{FindingKind::stray_pin,
                             fmt::format("{}{} is on {}, with {}, and not drawn there",
                                         is_supply ? "supply pin " : "", name,
                                         node_text(node->second), pins_text(others)),
                             {name},
                             others.front()->drawn->at,
                             pin.at};
        match_.findings.push_back(std::move(finding));
        return false;
    }

    void tell_conflicts() {
        for (const OrderedPin& pin : ordered_.conflicts) {
            if (is_not_simulated(pin)) continue;
            const std::string name = pin.device + "." + pin.pin;
            match_.findings.push_back(
                {FindingKind::conflict,
                 fmt::format("{} is on two nets, here on {}", name, net_text(pin)),
                 {name},
                 {},
                 pin.at});
        }
    }

    void count() {
        std::set<std::string> devices;
        std::set<int> nodes;
        for (const PlacedPin& pin : pairing_.pins) {
            devices.insert(pin.drawn->device);
            nodes.insert(pin.node);
        }
        match_.parts = devices.size();
        match_.nodes = nodes.size();
        match_.pins = pairing_.pins.size();
    }

    const Board& board_;
    const OrderedNets& ordered_;
    DrawnNets drawn_;
    Pairing pairing_;
    std::map<Group, PinList> groups_;
    std::map<int, int> net_of_;   ///< by node
    std::map<int, int> node_of_;  ///< by net
    Match match_;
};

}  // namespace

std::string_view finding_title(FindingKind kind) {
    return titles[static_cast<std::size_t>(kind)];
}

std::vector<FindingKind> finding_kinds() {
    std::vector<FindingKind> kinds;
    for (std::size_t k = 0; k < titles.size(); ++k) kinds.push_back(static_cast<FindingKind>(k));
    return kinds;
}

std::string not_drawn_text(const std::string& device) {
    return fmt::format(
        "{} is in the data and not drawn; if it is meant, name it in not_simulated or "
        "[off_board]",
        quote(device));
}

bool is_worse(const OrderFinding& a, const OrderFinding& b) {
    return std::tie(a.kind, a.text) < std::tie(b.kind, b.text);
}

Match match_nets(const Board& board, const OrderedNets& ordered) {
    return Comparison(board, ordered).match();
}

}  // namespace lowhiss
