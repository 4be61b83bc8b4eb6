#include "lowhiss/measure/supply_faults.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "lowhiss/board/board.hpp"
#include "lowhiss/circuit/circuit.hpp"
#include "lowhiss/measure/setting.hpp"

namespace lowhiss {
namespace {

bool drives_direct_current(const Element& element) {
    const AmplifierSupply* supply = supply_of(element);
    return (supply && supply->bias_a != 0) || std::holds_alternative<CurrentSource>(element.law);
}

bool may_be_starved(const Element& element) {
    const AmplifierSupply* supply = supply_of(element);
    return (supply && supply->is_known()) || std::holds_alternative<RegulatorStage>(element.law) ||
           std::holds_alternative<Transistor>(element.law);
}

bool has_a_rating(const Part& part) {
    const auto* capacitor = std::get_if<Capacitor>(&part.data);
    return capacitor && part.fitted && (capacitor->polarised || capacitor->rating_v < infinite);
}

/// Whether there is a direct current, and a part that could have a fault by it. If not, the direct
/// voltages, which take long on a large board, need not be solved for.
bool may_have_faults(const Circuit& circuit, const Board& board) {
    const auto any = [&](bool (*is)(const Element&)) {
        return std::any_of(circuit.elements.begin(), circuit.elements.end(), is);
    };
    return (!circuit.supplies.empty() || any(drives_direct_current)) &&
           (has_supply_ends(board) || any(may_be_starved) ||
            std::any_of(board.parts.begin(), board.parts.end(), has_a_rating));
}

bool same_fault(const PlacedFault& a, const PlacedFault& b) {
    return a.fault.part == b.fault.part && a.fault.kind == b.fault.kind;
}

/// Adds the fault, or replaces one of the same part that is less bad. Returns its place.
std::size_t add_worst(PlacedFault placed, std::vector<PlacedFault>& faults) {
    const auto known = std::find_if(faults.begin(), faults.end(), [&](const PlacedFault& other) {
        return same_fault(other, placed);
    });
    const auto place = static_cast<std::size_t>(known - faults.begin());
    if (known == faults.end())
        faults.push_back(std::move(placed));
    else if (placed.fault.excess > known->fault.excess)
        *known = std::move(placed);
    return place;
}

std::string words_of(SupplyEnd end, const Board& board) {
    if (end == SupplyEnd::nominal) return "at the nominal supply";
    const bool low = end == SupplyEnd::low;
    const bool batteries = std::any_of(board.parts.begin(), board.parts.end(), [](const Part& p) {
        return p.fitted && std::holds_alternative<Battery>(p.data);
    });
    const std::string cells = low ? "batteries empty" : "batteries full";
    if (!board.feed) return cells;
    const std::string feed =
        fmt::format("feed at the {} end of its tolerance", low ? "low" : "high");
    return batteries ? feed + ", " + cells : feed;
}

}  // namespace

std::string reason_accepted(const Board& assembled, const std::string& part, FaultKind fault) {
    for (const AcceptedFault& accepted : assembled.accepted) {
        if (accepted.part == part && accepted.fault == fault) return accepted.why;
    }
    return "";
}

std::vector<PlacedFault> faults_at(Setting& setting) {
    const Board& board = setting.board();
    if (!may_have_faults(setting.circuit(), board)) return {};
    const bool ends = has_supply_ends(board);
    std::vector<PlacedFault> faults;
    std::vector<std::size_t> count;
    for (const SupplyEnd end : supply_ends) {
        if (!ends && end != SupplyEnd::nominal) continue;
        for (SupplyFault& fault : faults_of(setting.supply(end))) {
            std::string accepted = reason_accepted(board, fault.part, fault.kind);
            const std::size_t place = add_worst({std::move(fault), end, words_of(end, board), true,
                                                 setting.rotation(), true, std::move(accepted)},
                                                faults);
            count.resize(faults.size());
            ++count[place];
        }
    }
    for (std::size_t k = 0; k < faults.size(); ++k) {
        faults[k].at_every_end = !ends || count[k] == supply_ends.size();
    }
    return faults;
}

std::vector<PlacedFault> over_positions(std::span<const std::vector<PlacedFault>> positions) {
    std::vector<PlacedFault> faults;
    std::vector<std::size_t> count;
    std::vector<bool> every_end;
    for (const std::vector<PlacedFault>& here : positions) {
        for (const PlacedFault& placed : here) {
            const std::size_t place = add_worst(placed, faults);
            count.resize(faults.size());
            every_end.resize(faults.size(), true);
            ++count[place];
            every_end[place] = every_end[place] && placed.at_every_end;
        }
    }
    for (std::size_t k = 0; k < faults.size(); ++k) {
        faults[k].at_every_end = every_end[k];
        faults[k].at_every_knob = count[k] == positions.size();
    }
    return faults;
}

std::string text_of(const PlacedFault& placed) {
    std::string place;
    if (!placed.at_every_end) place = placed.supply;
    if (!placed.at_every_knob && !std::isnan(placed.knob)) {
        place += fmt::format("{}knob {:.4g} %", place.empty() ? "" : ", ", 100 * placed.knob);
    }
    return fmt::format("{}: {}{}", placed.fault.part, placed.fault.text,
                       place.empty() ? "" : "; " + place);
}

}  // namespace lowhiss
