#include "lowhiss/series/not_varied.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "lowhiss/quantity/visitor.hpp"

namespace lowhiss {
namespace {

/// Why a part has the same figures on every board; empty for one that varies, or has no figure.
std::string reason_of(const Part& part, const Models& models) {
    const auto of_model = [](const auto& model) {
        return model.worst.empty() ? "no worst figures" : "";
    };
    const auto of_transistor = [](const auto& model) {
        return model.worst.empty() && model.spread.figures.empty() ? "no spread" : "";
    };
    return std::visit(
        Overloads{[](const OneOf<Resistor, Capacitor, Inductor, Potentiometer> auto& data) {
                      return data.tolerance.low < data.tolerance.high ? "" : "no tolerance";
                  },
                  [&](const OpAmp& opamp) { return of_model(models.opamps.at(opamp.model)); },
                  [&](const PreampIc& ic) { return of_model(models.preamp_ics.at(ic.model)); },
                  [&](const Bipolar& b) { return of_transistor(models.bipolars.at(b.model)); },
                  [&](const Jfet& j) { return of_transistor(models.jfets.at(j.model)); },
                  [](const OneOf<Transformer, ControlledSource, IndependentSource, Diode, Regulator,
                                 Battery> auto&) { return "of a kind without tolerances"; },
                  [](const Link&) { return ""; }},
        part.data);
}

bool has(const Board& board, bool (*is)(const PartData&)) {
    return std::any_of(board.parts.begin(), board.parts.end(),
                       [&](const Part& part) { return part.fitted && is(part.data); });
}

}  // namespace

std::vector<std::string> not_varied(const Board& assembled) {
    std::vector<std::string> items;
    if (!assembled.input.capsule.empty()) items.emplace_back("capsule");
    if (assembled.feed) items.emplace_back("feed");
    for (const char* const reason :
         {"no tolerance", "no worst figures", "no spread", "of a kind without tolerances"}) {
        std::vector<std::string> names;
        for (const Part& part : assembled.parts) {
            if (part.fitted && reason_of(part, assembled.models) == reason) {
                names.push_back(part.name);
            }
        }
        if (!names.empty()) items.push_back(fmt::format("{} ({})", fmt::join(names, " "), reason));
    }
    if (has(assembled, std::holds_alternative<Potentiometer>)) items.emplace_back("tapers");
    if (has(assembled, std::holds_alternative<Capacitor>) ||
        has(assembled, std::holds_alternative<Inductor>)) {
        items.emplace_back("losses of capacitors and coils");
    }
    if (!assembled.temperature_range) items.emplace_back("temperature (no temperature_range)");
    return items;
}

}  // namespace lowhiss
