#include "lowhiss/promise/look_at.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/registry.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

using Ranked = std::vector<std::pair<std::string, double>>;

constexpr std::size_t most_named = 3;

/// A part with less than this of the first one's weight is not named.
constexpr double negligible = 0.1;

/// A part's value is multiplied by this to see what it moves.
constexpr double enlargement = 1.01;

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

Ranked by_noise(Setting& setting, const Band& band) {
    Ranked ranked;
    for (const PartNoise& part : noise_by_part(setting, band)) {
        if (!std::isnan(part.output_v2)) ranked.emplace_back(part.part, part.output_v2);
    }
    return ranked;
}

/// Gives one op-amp a model of its own that is 1 % faster.
void speed_up(OpAmp& opamp, Models& models) {
    OpAmpModel faster = models.opamps.at(opamp.model);
    faster.gain_bandwidth_hz *= enlargement;
    faster.common.slew_rate_v_s *= enlargement;
    opamp.model += " (faster)";
    models.opamps.insert_or_assign(opamp.model, std::move(faster));
}

/// Makes the main value of a resistor, capacitor, inductor, potentiometer or regulator, the
/// breakdown voltage of a Zener diode, the inductance of a transformer or the bandwidth of an
/// op-amp 1 % larger; false for other parts.
bool enlarge(Part& part, Board& board) {
    if (!part.fitted) return false;
    if (auto* transformer = std::get_if<Transformer>(&part.data)) {
        transformer->primary_inductance_h *= enlargement;
        return true;
    }
    if (auto* diode = std::get_if<Diode>(&part.data)) {
        diode->breakdown_v *= enlargement;
        return diode->kind == Diode::Kind::zener;
    }
    if (auto* opamp = std::get_if<OpAmp>(&part.data)) {
        speed_up(*opamp, board.models);
        return true;
    }
    if (auto* regulator = std::get_if<Regulator>(&part.data)) {
        regulator->output_v *= enlargement;
        return true;
    }
    const PartSchema& schema = schema_of(part);
    const bool passive = std::holds_alternative<Resistor>(part.data) ||
                         std::holds_alternative<Capacitor>(part.data) ||
                         std::holds_alternative<Inductor>(part.data) ||
                         std::holds_alternative<Potentiometer>(part.data);
    if (!passive) return false;
    schema.fields.front().slot(part.data) *= enlargement;
    return true;
}

/// The limit's figure on a board of the same structure.
double figure(const Limit& limit, const Board& board, Assembly& like, double rotation,
              double at_hz) {
    const MeasureRecord& measure = record_of(*limit.measure);
    MeasureArguments arguments = limit.arguments;
    if (!limit.mask.empty()) arguments.at_hz = at_hz;
    if (measure.at_setting) {
        Setting setting(board, like.capsule(), rotation, like.plans());
        return measure.at_setting(setting, arguments).value;
    }
    std::vector<double> gains;
    for (const double each : like.positions()) {
        Setting setting(board, like.capsule(), each, like.plans());
        gains.push_back(gain_db(setting, arguments.at_hz));
    }
    return measure.over_knob(gains, arguments).value;
}

Ranked by_influence(const Limit& limit, Assembly& assembly, double rotation, double at_hz) {
    const Board& board = assembly.board();
    const double before = figure(limit, board, assembly, rotation, at_hz);
    Ranked ranked;
    for (std::size_t k = 0; k < board.parts.size(); ++k) {
        Board changed = board;
        if (!enlarge(changed.parts[k], changed)) continue;
        const double after = figure(limit, changed, assembly, rotation, at_hz);
        if (std::isfinite(after - before)) {
            ranked.emplace_back(board.parts[k].name, std::abs(after - before));
        }
    }
    return ranked;
}

/// The parts that take the bass; none if the limit does not fail by that.
std::vector<std::string> by_bass(const MeasureRecord& measure, Setting& setting,
                                 const Verdict& failed) {
    using Bass = MeasureRecord::Bass;
    if (measure.bass == Bass::none) return {};
    const bool is_corner = measure.unit == Unit::hertz;
    const double f_hz = is_corner ? failed.value : failed.at_hz;
    if (!(f_hz > 0 && f_hz < reference_hz)) return {};
    if (measure.bass == Bass::gain && !(failed.value < failed.min)) return {};
    const PartBassLoss loss = setting.bass_loss(f_hz);
    if (!is_corner && !(loss.total_db >= -failed.margin)) return {};
    std::vector<std::string> names;
    for (const PartRolloff& cause : loss.causes) names.push_back(cause.part);
    return names;
}

}  // namespace

std::vector<std::string> parts_to_look_at(const Limit& limit, Assembly& assembly, double rotation,
                                          const Verdict& failed) {
    const MeasureRecord& measure = record_of(*limit.measure);
    if (measure.noise) {
        return leading(by_noise(assembly.setting(rotation), limit.arguments.band));
    }
    if (measure.at_setting) {
        auto bass = by_bass(measure, assembly.setting(rotation), failed);
        if (!bass.empty()) return bass;
    }
    std::vector<std::string> names;
    if (measure.named_parts) {
        names = measure.named_parts(assembly.setting(rotation), limit.arguments);
    }
    for (std::string& name : leading(by_influence(limit, assembly, rotation, failed.at_hz))) {
        const bool known = std::find(names.begin(), names.end(), name) != names.end();
        if (!known && names.size() < most_named) names.push_back(std::move(name));
    }
    return names;
}

}  // namespace lowhiss
