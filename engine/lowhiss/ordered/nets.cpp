#include "lowhiss/ordered/nets.hpp"

#include <map>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss {

OrderedNets each_pin_once(std::string path, std::vector<OrderedPin> listed) {
    OrderedNets nets;
    nets.path = std::move(path);
    std::map<std::pair<std::string, std::string>, std::size_t> known;
    for (OrderedPin& pin : listed) {
        const auto [place, is_new] =
            known.emplace(std::pair(upper_case(pin.device), upper_case(pin.pin)), nets.pins.size());
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
