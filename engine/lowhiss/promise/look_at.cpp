#include <algorithm>
#include <cmath>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/promise/check.hpp"

namespace lowhiss {
namespace {

using Ranked = std::vector<std::pair<std::string, double>>;

constexpr std::size_t most_named = 3;

/// A part far behind the first is not worth a look.
constexpr double negligible = 0.1;

std::vector<std::string> leading(Ranked ranked) {
    std::stable_sort(ranked.begin(), ranked.end(),
                     [](const auto& a, const auto& b) { return a.second > b.second; });
    std::vector<std::string> names;
    for (const auto& [name, weight] : ranked) {
        if (names.size() == most_named || !(weight > negligible * ranked.front().second)) break;
        names.push_back(name);
    }
    return names;
}

Ranked by_hiss(Setting& setting, const Band& band) {
    Ranked ranked;
    for (const PartNoise& part : noise_by_part(setting, band)) {
        ranked.emplace_back(part.part, part.output_v2);
    }
    return ranked;
}

/// The main value of a resistor, capacitor, inductor or potentiometer made 1 % larger.
bool enlarge(Part& part) {
    const PartSchema& schema = schema_of(part);
    const bool passive = std::holds_alternative<Resistor>(part.data) ||
                         std::holds_alternative<Capacitor>(part.data) ||
                         std::holds_alternative<Inductor>(part.data) ||
                         std::holds_alternative<Potentiometer>(part.data);
    if (!passive || !part.fitted) return false;
    schema.fields.front().slot(part.data) *= 1.01;
    return true;
}

double figure(const Limit& limit, const Board& board, const Capsule* capsule, double rotation,
              double at_hz, const Plans& plans) {
    MeasureArguments arguments = limit.arguments;
    if (!limit.mask.empty()) arguments.at_hz = at_hz;
    const MeasureRecord& measure = record_of(*limit.measure);
    if (measure.at_setting) {
        Setting setting(board, capsule, rotation, plans);
        return measure.at_setting(setting, arguments).value;
    }
    std::vector<std::unique_ptr<Setting>> settings;
    std::vector<Setting*> all;
    for (const double each : board.knob ? board.knob->positions : std::vector<double>{0}) {
        settings.push_back(std::make_unique<Setting>(board, capsule, each, plans));
        all.push_back(settings.back().get());
    }
    return measure.over_knob(all, arguments).value;
}

Ranked by_influence(const Limit& limit, const Board& board, const Capsule* capsule, double rotation,
                    double at_hz) {
    const Plans plans = make_plans(board, capsule);
    const double before = figure(limit, board, capsule, rotation, at_hz, plans);
    Ranked ranked;
    for (std::size_t k = 0; k < board.parts.size(); ++k) {
        Board changed = board;
        if (!enlarge(changed.parts[k])) continue;
        const double after = figure(limit, changed, capsule, rotation, at_hz, plans);
        if (std::isfinite(after - before)) {
            ranked.emplace_back(board.parts[k].name, std::abs(after - before));
        }
    }
    return ranked;
}

}  // namespace

std::vector<std::string> parts_to_look_at(const Limit& limit, const Board& assembled,
                                          const Capsule* capsule, double rotation, double at_hz) {
    if (!record_of(*limit.measure).noise) {
        return leading(by_influence(limit, assembled, capsule, rotation, at_hz));
    }
    Setting setting(assembled, capsule, rotation);
    return leading(by_hiss(setting, limit.arguments.band));
}

}  // namespace lowhiss
