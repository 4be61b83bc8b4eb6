#include "lowhiss/ordered/drawn.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/text/nearest.hpp"

namespace lowhiss {
namespace {

using PinNames = std::vector<std::string>;

const std::string* numbers_under(const std::vector<PinNumbers>& list, std::string_view key,
                                 int count) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const auto& each) { return each.key == key; });
    const bool complete =
        found != list.end() && found->numbers.size() == static_cast<std::size_t>(count);
    return complete ? found->numbers.data() : nullptr;
}

/// The pinout's numbers of a unit, or of the only one; null if the part must name one.
const std::vector<PinNumbers>* unit_numbers(const Part& part, const Pinout& pinout) {
    if (pinout.units.empty()) return &pinout.common;
    if (part.unit.empty() && pinout.units.size() == 1) return &pinout.units.begin()->second;
    const auto unit = pinout.units.find(part.unit);
    return unit == pinout.units.end() ? nullptr : &unit->second;
}

/// The names of each pin of the part in the order of its schema; an empty list where unknown.
std::vector<PinNames> names_of_pins(const Part& part, const Models& models) {
    std::vector<PinNames> names(part.pins.size());
    const Pinout* pinout = pinout_of(part, models);
    const std::vector<PinNumbers>* unit = pinout ? unit_numbers(part, *pinout) : nullptr;
    std::size_t first = 0;
    for (const PinGroup& group : schema_of(part).pins) {
        const auto count = static_cast<std::size_t>(group.count);
        if (first + count > names.size()) break;
        const std::string* numbers = numbers_under(part.numbers, group.key, group.count);
        if (!numbers && unit) numbers = numbers_under(*unit, group.key, group.count);
        if (!numbers && pinout) numbers = numbers_under(pinout->common, group.key, group.count);
        for (std::size_t k = 0; numbers && k < count; ++k) names[first + k] = {numbers[k]};
        first += count;
    }
    if (!part.numbers.empty()) return names;
    if (std::holds_alternative<Diode>(part.data)) return {{"2", "A"}, {"1", "K", "C"}};
    if (std::holds_alternative<Potentiometer>(part.data)) return {{"1"}, {"2"}, {"3"}};
    if (std::holds_alternative<Capacitor>(part.data) || std::holds_alternative<Battery>(part.data))
        return {{"1", "+"}, {"2", "-"}};
    if (is_reversible(part)) return {{"1"}, {"2"}};
    return names;
}

class Drawing {
  public:
    explicit Drawing(const Board& board) : board_(board) {}

    DrawnNets nets() {
        for (const Part& part : board_.parts) add(part);
        for (const OffBoard& place : board_.off_board) add(place);
        return std::move(nets_);
    }

  private:
    void not_compared(const Part& part, std::string why) {
        nets_.not_compared.push_back(fmt::format("{}: {}", part.name, why));
    }

    void add(const Part& part) {
        if (is_off_board(part, board_)) return;
        if (is_no_device(part)) {
            return not_compared(part,
                                "a source is no device; [off_board] can say where it is connected");
        }
        const std::string& device = device_of(part);
        const std::vector<PinNames> names = names_of_pins(part, board_.models);
        std::vector<DrawnPin> pins;
        for (std::size_t k = 0; k < part.pins.size(); ++k) {
            if (names[k].empty()) continue;
            const Position& at = part.pins[k].at;
            pins.push_back(
                {part.name, device, names[k], part.pins[k].node, at.line > 0 ? at : part.at});
        }
        if (pins.size() < part.pins.size()) tell_of_unknown_pins(part, pins.empty());
        if (is_reversible(part) && pins.size() == 2) {
            nets_.pairs.push_back({pins[0], pins[1]});
            return;
        }
        if (part.pins.size() == 2) nets_.polarised.push_back(device);
        nets_.pins.insert(nets_.pins.end(), pins.begin(), pins.end());
        add_supply(part, device);
    }

    void tell_of_unknown_pins(const Part& part, bool all) {
        nets_.not_numbered.push_back(device_of(part));
        const Pinout* pinout = pinout_of(part, board_.models);
        if (pinout && !unit_numbers(part, *pinout)) {
            PinNames units;
            for (const auto& [unit, numbers] : pinout->units) units.push_back(unit);
            return not_compared(part,
                                fmt::format("it does not say which unit it is: {}", listed(units)));
        }
        not_compared(part, fmt::format("{}pin numbers are not known; give the part `numbers`{}",
                                       all ? "" : "some ",
                                       model_name(part.data) ? ", or its model a `pinout`" : ""));
    }

    /// Adds supply pins that the pinout has and the board file leaves out.
    void add_supply(const Part& part, const std::string& device) {
        const Pinout* pinout = pinout_of(part, board_.models);
        const std::string* numbers = pinout ? numbers_under(pinout->common, "supply", 2) : nullptr;
        std::size_t drawn = 0;
        for (const PinGroup& group : schema_of(part).pins) {
            if (group.key != "supply") drawn += static_cast<std::size_t>(group.count);
        }
        if (!numbers || part.pins.size() > drawn) return;
        for (std::size_t k = 0; k < 2; ++k) {
            const auto known = [&](const DrawnPin& pin) {
                return pin.device == device && pin.numbers.front() == numbers[k];
            };
            if (std::any_of(nets_.supply.begin(), nets_.supply.end(), known)) continue;
            nets_.supply.push_back({part.name, device, {numbers[k]}, "", part.at});
        }
    }

    void add(const OffBoard& place) {
        std::string node = place.node;
        if (const Part* part = find_part(board_, place.part)) {
            if (place.pin >= part->pins.size()) return;
            node = part->pins[place.pin].node;
        }
        nets_.pins.push_back({place.part, place.device, {place.number}, node, place.at});
        if (std::find(nets_.off_board.begin(), nets_.off_board.end(), place.device) ==
            nets_.off_board.end()) {
            nets_.off_board.push_back(place.device);
        }
    }

    const Board& board_;
    DrawnNets nets_;
};

}  // namespace

const std::string& device_of(const Part& part) {
    return part.device.empty() ? part.name : part.device;
}

bool is_off_board(const Part& part, const Board& board) {
    return std::any_of(board.off_board.begin(), board.off_board.end(),
                       [&](const OffBoard& place) { return place.part == part.name; });
}

bool is_no_device(const Part& part) {
    return std::holds_alternative<ControlledSource>(part.data) ||
           std::holds_alternative<IndependentSource>(part.data);
}

DrawnNets drawn_nets(const Board& board) {
    return Drawing(board).nets();
}

}  // namespace lowhiss
