#include "lowhiss/ordered/nets.hpp"

#include <map>
#include <utility>

namespace lowhiss {

std::string in_capitals(std::string_view name) {
    std::string capitals(name);
    for (char& c : capitals) {
        if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    }
    return capitals;
}

OrderedNets each_pin_once(std::string path, std::vector<OrderedPin> listed) {
    OrderedNets nets;
    nets.path = std::move(path);
    std::map<std::pair<std::string, std::string>, std::size_t> known;
    for (OrderedPin& pin : listed) {
        const auto [place, is_new] = known.emplace(
            std::pair(in_capitals(pin.device), in_capitals(pin.pin)), nets.pins.size());
        if (is_new) {
            nets.pins.push_back(std::move(pin));
        } else if (nets.pins[place->second].net != pin.net) {
            nets.conflicts.push_back(std::move(pin));
        }
    }
    std::map<std::string, int> count;
    for (const OrderedPin& pin : nets.pins) ++count[pin.net];
    for (const OrderedPin& pin : nets.conflicts) ++count[pin.net];
    for (OrderedPin& pin : nets.pins) {
        if (count[pin.net] == 1) pin.net.clear();
    }
    return nets;
}

}  // namespace lowhiss
