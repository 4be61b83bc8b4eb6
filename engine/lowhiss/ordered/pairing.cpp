#include "lowhiss/ordered/pairing.hpp"
#include "lowhiss/quantity/ascii.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

namespace lowhiss {
namespace {

constexpr std::size_t cut_width = 6;

enum class Way { unknown, straight, turned };

/// A part that may be fitted either way round: two nodes and two nets.
struct Couple {
    const DrawnPair* drawn;
    std::size_t first;  ///< pins of the data
    std::size_t second;
    std::array<int, 2> node;
    std::array<int, 2> net;
    Way way = Way::unknown;
};

class Pairer {
  public:
    Pairer(const DrawnNets& drawn, const OrderedNets& ordered) : drawn_(drawn), ordered_(ordered) {}

    Pairing pairing() {
        number_nets();
        find_devices();
        for (const DrawnPin& pin : drawn_.pins) place(pin);
        for (const DrawnPair& pair : drawn_.pairs) place(pair);
        settle_couples();
        for (const Couple& couple : couples_) place(couple);
        return std::move(result_);
    }

  private:
    using Pins = std::map<std::string, std::size_t>;  ///< index by number in capitals

    void number_nets() {
        std::map<std::string, int> known;
        int count = 0;
        for (std::size_t k = 0; k < ordered_.pins.size(); ++k) {
            const OrderedPin& pin = ordered_.pins[k];
            devices_[upper_case(pin.device)].emplace(upper_case(pin.pin), k);
            if (pin.net.empty()) {
                result_.net_ids.push_back(count++);
                continue;
            }
            const auto [net, is_new] = known.emplace(pin.net, count);
            if (is_new) ++count;
            result_.net_ids.push_back(net->second);
        }
        result_.used.resize(ordered_.pins.size());
    }

    int node_id(const std::string& name) {
        const auto [node, is_new] = node_ids_.emplace(name, static_cast<int>(node_ids_.size()));
        if (is_new) result_.nodes.push_back(name);
        return node->second;
    }

    template <class Visit>
    void each_drawn_device(Visit visit) const {
        for (const DrawnPin& pin : drawn_.pins) visit(pin.device, pin.at);
        for (const DrawnPair& pair : drawn_.pairs) visit(pair.first.device, pair.first.at);
        for (const std::string& device : drawn_.not_numbered) visit(device, Position{});
    }

    /// A pin of a device whose name may have been cut to those six characters.
    bool may_be_cut(const std::string& device) const {
        const auto pins = devices_.find(device);
        return pins != devices_.end() &&
               ordered_.pins[pins->second.begin()->second].device_may_be_cut;
    }

    void find_devices() {
        std::map<std::string, std::set<std::string>> by_beginning;
        each_drawn_device([&](const std::string& device, const Position&) {
            if (device.size() > cut_width) {
                by_beginning[upper_case(device).substr(0, cut_width)].insert(upper_case(device));
            }
        });
        std::map<std::string, Position> missing;
        each_drawn_device([&](const std::string& device, const Position& at) {
            const std::string name = upper_case(device);
            const std::string beginning = name.substr(0, cut_width);
            const bool cut = name.size() > cut_width && !devices_.contains(name);
            if (devices_.contains(name)) {
                found_[device] = name;
            } else if (cut && may_be_cut(beginning) && by_beginning[beginning].size() == 1) {
                found_[device] = beginning;
            } else if (cut && may_be_cut(beginning)) {
                if (unsure_.insert(device).second) {
                    result_.not_compared.push_back(fmt::format(
                        "{}: the data cuts designators to {} characters, and several begin like "
                        "this one",
                        device, cut_width));
                }
                result_.known_devices.insert(beginning);
            } else {
                missing.emplace(device, at);
            }
        });
        for (const auto& [drawn, name] : found_) result_.known_devices.insert(name);
        for (const auto& [device, at] : missing) {
            const auto& cut = ordered_.cut_devices;
            const std::string beginning = upper_case(device).substr(0, cut_width);
            if (std::find(cut.begin(), cut.end(), beginning) == cut.end()) {
                result_.missing_parts.push_back({device, at});
            }
        }
    }

    const Pins* pins_of(const std::string& device) const {
        const auto found = found_.find(device);
        return found == found_.end() ? nullptr : &devices_.at(found->second);
    }

    static std::optional<std::size_t> find_pin(const Pins& pins, const DrawnPin& pin) {
        for (const std::string& number : pin.numbers) {
            const auto found = pins.find(upper_case(number));
            if (found != pins.end()) return found->second;
        }
        return std::nullopt;
    }

    void add(const DrawnPin& pin, std::size_t ordered) {
        result_.used[ordered] = true;
        result_.pins.push_back(
            {&pin, &ordered_.pins[ordered], node_id(pin.node), result_.net_ids[ordered]});
    }

    void place(const DrawnPin& pin) {
        const Pins* pins = pins_of(pin.device);
        if (!pins) return;
        const auto found = find_pin(*pins, pin);
        if (!found) {
            result_.missing_pins.push_back(&pin);
            return;
        }
        add(pin, *found);
        votes_[{result_.pins.back().node, result_.pins.back().net}] += 1;
    }

    void place(const DrawnPair& pair) {
        const Pins* pins = pins_of(pair.first.device);
        if (!pins) return;
        auto first = find_pin(*pins, pair.first);
        auto second = find_pin(*pins, pair.second);
        if (!first && !second && pins->size() == 2) {
            first = pins->begin()->second;
            second = std::next(pins->begin())->second;
        }
        if (!first || !second) {
            for (const auto& [found, pin] :
                 {std::pair(first, &pair.first), std::pair(second, &pair.second)}) {
                if (!found) result_.missing_pins.push_back(pin);
            }
            return;
        }
        Couple couple{&pair,
                      *first,
                      *second,
                      {node_id(pair.first.node), node_id(pair.second.node)},
                      {result_.net_ids[*first], result_.net_ids[*second]}};
        vote(couple, 1);
        couples_.push_back(couple);
    }

    /// Adds the couple's votes for pairs of a node and a net; a part of unknown orientation gives
    /// half a vote to each pair.
    void vote(const Couple& c, double sign) {
        for (const int k : {0, 1}) {
            for (const int n : {0, 1}) {
                const bool holds = c.way == Way::unknown || (c.way == Way::straight) == (k == n);
                if (!holds) continue;
                votes_[{c.node[k], c.net[n]}] += sign * (c.way == Way::unknown ? 0.5 : 1);
            }
        }
    }

    double votes_for(int node, int net) const {
        const auto found = votes_.find({node, net});
        return found == votes_.end() ? 0 : found->second;
    }

    /// The votes of the other parts for straight less those for turned.
    double straight_lead(const Couple& c) {
        vote(c, -1);
        const double lead = votes_for(c.node[0], c.net[0]) + votes_for(c.node[1], c.net[1]) -
                            votes_for(c.node[0], c.net[1]) - votes_for(c.node[1], c.net[0]);
        vote(c, 1);
        return lead;
    }

    void settle(Couple& couple, Way way) {
        vote(couple, -1);
        couple.way = way;
        vote(couple, 1);
    }

    void settle_couples() {
        std::vector<Couple*> open;
        for (Couple& couple : couples_) open.push_back(&couple);
        while (!open.empty()) {
            std::vector<double> leads;
            double largest = 0;
            for (const Couple* couple : open) {
                leads.push_back(straight_lead(*couple));
                largest = std::max(largest, std::abs(leads.back()));
            }
            std::vector<Couple*> still;
            for (std::size_t k = 0; k < open.size(); ++k) {
                const bool sure = largest > 0 ? std::abs(leads[k]) >= largest / 2 : k == 0;
                if (sure)
                    settle(*open[k], leads[k] < 0 ? Way::turned : Way::straight);
                else
                    still.push_back(open[k]);
            }
            open = std::move(still);
        }
        constexpr int most_rounds = 20;
        bool changed = true;
        for (int round = 0; changed && round < most_rounds; ++round) {
            changed = false;
            for (Couple& couple : couples_) {
                const double lead = straight_lead(couple);
                if (lead == 0 || (lead > 0) == (couple.way == Way::straight)) continue;
                settle(couple, lead > 0 ? Way::straight : Way::turned);
                changed = true;
            }
        }
    }

    void place(const Couple& couple) {
        const bool straight = couple.way != Way::turned;
        add(couple.drawn->first, straight ? couple.first : couple.second);
        add(couple.drawn->second, straight ? couple.second : couple.first);
    }

    const DrawnNets& drawn_;
    const OrderedNets& ordered_;
    Pairing result_;
    std::map<std::string, Pins> devices_;       ///< of the data, in capitals
    std::map<std::string, std::string> found_;  ///< device of the data by that of the drawing
    std::set<std::string> unsure_;
    std::map<std::string, int> node_ids_;
    std::map<std::pair<int, int>, double> votes_;  ///< by node and net
    std::vector<Couple> couples_;
};

}  // namespace

Pairing pair_pins(const DrawnNets& drawn, const OrderedNets& ordered) {
    return Pairer(drawn, ordered).pairing();
}

}  // namespace lowhiss
