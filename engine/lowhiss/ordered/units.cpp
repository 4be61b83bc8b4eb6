#include "lowhiss/ordered/units.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "lowhiss/quantity/ascii.hpp"

namespace lowhiss {
namespace {

/// Each try compares the whole board: enough for thirty dual amplifiers that are all exchanged, and
/// an end for data that agrees nowhere.
constexpr int most_tries = 200;

/// Two units of a device that may change places.
struct UnitPair {
    std::string device;
    std::string first;
    std::string second;
};

bool have_the_same_pins(const std::vector<PinNumbers>& a, const std::vector<PinNumbers>& b) {
    const auto has_its_like = [&](const PinNumbers& pin) {
        return std::any_of(b.begin(), b.end(), [&](const PinNumbers& other) {
            return other.key == pin.key && other.numbers.size() == pin.numbers.size();
        });
    };
    return a.size() == b.size() && std::all_of(a.begin(), a.end(), has_its_like);
}

/// The parts that are units of each device; none of a device with two models or with `numbers`.
std::map<std::string, std::vector<const Part*>> parts_by_device(const Board& board) {
    std::map<std::string, std::vector<const Part*>> devices;
    std::set<std::string> fixed;
    for (const Part& part : board.parts) {
        const std::string& device = device_of(part);
        const std::string* model = model_name(part.data);
        std::vector<const Part*>& parts = devices[device];
        const bool alike =
            model != nullptr && (parts.empty() || *model_name(parts.front()->data) == *model);
        if (!alike || part.unit.empty() || !part.numbers.empty()) {
            fixed.insert(device);
        } else {
            parts.push_back(&part);
        }
    }
    for (const std::string& device : fixed) devices.erase(device);
    return devices;
}

/// At least one unit of each pair is drawn.
std::vector<UnitPair> exchangeable_units(const Board& board) {
    std::vector<UnitPair> pairs;
    for (const auto& [device, parts] : parts_by_device(board)) {
        const Pinout* pinout = parts.empty() ? nullptr : pinout_of(*parts.front(), board.models);
        if (!pinout) continue;
        const auto is_drawn = [&, &drawn = parts](const std::string& unit) {
            return std::any_of(drawn.begin(), drawn.end(),
                               [&](const Part* part) { return part->unit == unit; });
        };
        for (auto a = pinout->units.begin(); a != pinout->units.end(); ++a) {
            for (auto b = std::next(a); b != pinout->units.end(); ++b) {
                if (!have_the_same_pins(a->second, b->second)) continue;
                if (is_drawn(a->first) || is_drawn(b->first))
                    pairs.push_back({device, a->first, b->first});
            }
        }
    }
    return pairs;
}

/// The number of the pin of one unit that is `number` of the other; empty if it is of neither.
std::string number_in_other(const std::vector<PinNumbers>& a, const std::vector<PinNumbers>& b,
                            const std::string& number) {
    for (const auto& [from, to] : {std::pair(&a, &b), std::pair(&b, &a)}) {
        for (const PinNumbers& pin : *from) {
            for (std::size_t k = 0; k < pin.numbers.size(); ++k) {
                if (upper_case(pin.numbers[k]) != upper_case(number)) continue;
                const auto like = std::find_if(
                    to->begin(), to->end(), [&](const PinNumbers& o) { return o.key == pin.key; });
                return like->numbers[k];
            }
        }
    }
    return "";
}

/// The board with two units in each other's place, with their pins that are not simulated.
Board with_exchanged(Board board, const UnitPair& units) {
    const Pinout* pinout = nullptr;
    for (Part& part : board.parts) {
        if (device_of(part) != units.device) continue;
        pinout = pinout_of(part, board.models);
        if (part.unit == units.first)
            part.unit = units.second;
        else if (part.unit == units.second)
            part.unit = units.first;
    }
    for (NotSimulated& named : board.not_simulated) {
        if (upper_case(named.device) != upper_case(units.device)) continue;
        const std::string other =
            number_in_other(pinout->units.find(units.first)->second,
                            pinout->units.find(units.second)->second, named.pin);
        if (!other.empty()) named.pin = other;
    }
    return board;
}

bool names_pin_of(const OrderFinding& finding, const std::string& device) {
    return std::any_of(finding.pins.begin(), finding.pins.end(), [&](const std::string& pin) {
        return upper_case(pin).starts_with(upper_case(device) + ".");
    });
}

/// Whether a pin of the device is in the place of another.
bool is_misplaced(const Match& match, const std::string& device) {
    return std::any_of(
        match.findings.begin(), match.findings.end(), [&](const OrderFinding& finding) {
            return names_pin_of(finding, device) &&
                   (finding.kind == FindingKind::exchanged || finding.kind == FindingKind::moved ||
                    finding.kind == FindingKind::stray_pin);
        });
}

class UnitSearch {
  public:
    UnitSearch(const Board& board, const OrderedNets& ordered)
        : drawn_(board), ordered_(ordered), as_drawn_(match_nets(board, ordered)) {}

    Match match() {
        if (as_drawn_.findings.empty()) return std::move(as_drawn_);
        const std::vector<UnitPair> pairs = exchangeable_units(drawn_);
        if (pairs.empty()) return std::move(as_drawn_);
        Board board = drawn_;
        Match best = as_drawn_;
        for (bool better = true; better;) better = improve(pairs, board, best);
        undo_what_explains_nothing(board, best);
        tell(board, best);
        if (tries_ > most_tries) {
            best.not_compared.push_back(fmt::format(
                "exchanged units: not all were tried, as {} did not explain the nets", most_tries));
        }
        return best;
    }

  private:
    /// Keeps each exchange that leaves fewer findings.
    bool improve(const std::vector<UnitPair>& pairs, Board& board, Match& best) {
        bool better = false;
        for (const UnitPair& units : pairs) {
            const bool concerned = std::any_of(
                best.findings.begin(), best.findings.end(),
                [&](const OrderFinding& finding) { return names_pin_of(finding, units.device); });
            if (!concerned) continue;
            if (++tries_ > most_tries) return false;
            Board exchanged = with_exchanged(board, units);
            Match match = match_nets(exchanged, ordered_);
            if (match.findings.size() >= best.findings.size()) continue;
            board = std::move(exchanged);
            best = std::move(match);
            better = true;
        }
        return better;
    }

    /// Puts units back as drawn if their device still has exchanged pins.
    void undo_what_explains_nothing(Board& board, Match& best) {
        for (bool undone = true; undone;) {
            undone = false;
            for (std::size_t k = 0; k < board.parts.size() && !undone; ++k) {
                const std::string device = device_of(board.parts[k]);
                if (board.parts[k].unit == drawn_.parts[k].unit || !is_misplaced(best, device))
                    continue;
                undo(device, board);
                best = match_nets(board, ordered_);
                undone = true;
            }
        }
    }

    void undo(const std::string& device, Board& board) const {
        for (std::size_t k = 0; k < board.parts.size(); ++k) {
            if (device_of(board.parts[k]) == device) board.parts[k].unit = drawn_.parts[k].unit;
        }
        for (std::size_t k = 0; k < board.not_simulated.size(); ++k) {
            if (upper_case(board.not_simulated[k].device) == upper_case(device))
                board.not_simulated[k].pin = drawn_.not_simulated[k].pin;
        }
    }

    void tell(const Board& board, Match& match) const {
        std::map<std::string, std::string> words;
        for (std::size_t k = 0; k < board.parts.size(); ++k) {
            const Part& part = drawn_.parts[k];
            const std::string& unit = board.parts[k].unit;
            if (unit == part.unit) continue;
            const std::string& device = device_of(part);
            match.units.push_back({ordered_.path, device, part.name, part.unit, unit});
            std::string& line = words[device];
            line += line.empty() ? fmt::format("{} is unit {} of {}", part.name, unit, device)
                                 : fmt::format(", {} is unit {}", part.name, unit);
            line += fmt::format(" instead of {}", part.unit);
        }
        for (const auto& [device, line] : words) {
            match.notes.push_back(fmt::format("{}: units are exchanged, which is not a fault: {}",
                                              ordered_.path, line));
        }
    }

    const Board& drawn_;
    const OrderedNets& ordered_;
    Match as_drawn_;
    int tries_ = 0;
};

}  // namespace

Match match_units(const Board& board, const OrderedNets& ordered) {
    return UnitSearch(board, ordered).match();
}

}  // namespace lowhiss
