#include "lowhiss/series/limit_place.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"

namespace lowhiss {
namespace {

LimitPlace place_of_verdict(const Verdict& verdict, const std::vector<Limit>& limits) {
    const auto named = std::find_if(limits.begin(), limits.end(), [&](const Limit& limit) {
        return limit.name == verdict.limit && limit.measure->name == verdict.measure;
    });
    LimitPlace place{*named, verdict.variant, verdict.capsule, verdict.knob};
    if (!std::isnan(verdict.knob)) place.limit.knob = {verdict.knob};
    if (!place.limit.capsules.empty()) place.limit.capsules = {verdict.capsule};
    return place;
}

}  // namespace

std::vector<LimitPlace> places_of(const std::vector<Verdict>& verdicts,
                                  const std::vector<Limit>& limits) {
    std::vector<LimitPlace> places;
    places.reserve(verdicts.size());
    for (const Verdict& verdict : verdicts) places.push_back(place_of_verdict(verdict, limits));
    return places;
}

Judged judge(const LimitPlace& place, const Board& board, const PlanShelf& plans) {
    const CheckRequest request{&board, {place.limit}, false, false, {place.variant}, &plans};
    const BoardCheck check = check_board(request);
    const Verdict& v = check.verdicts.front();
    const bool nearer_max =
        !std::isnan(v.max) && (std::isnan(v.min) || v.max - v.value < v.value - v.min);
    return {v.value, v.margin, v.at_hz, nearer_max};
}

std::vector<double> slopes_at(const LimitPlace& place, const Board& assembled,
                              const PlanShelf& plans, const std::vector<std::size_t>& parts,
                              double at_hz) {
    const MeasureRecord& measure = record_of(*place.limit.measure);
    std::vector<double> slopes(parts.size(), unset);
    if (!measure.slope && !measure.slope_over_knob) return slopes;
    MeasureArguments arguments = place.limit.arguments;
    if (!place.limit.mask.empty()) arguments.at_hz = at_hz;
    try {
        const auto known = plans.find({place.variant, place.capsule});
        Assembly assembly(assembled, "", place.capsule,
                          known == plans.end() ? Plans() : known->second);
        if (!measure.over_knob) {
            const double rotation = std::isnan(place.knob) ? 0 : place.knob;
            PartSensitivity sensitivity(assembly.setting(rotation), parts);
            return slope_of(measure, arguments, sensitivity);
        }
        std::vector<std::unique_ptr<PartSensitivity>> positions;
        std::vector<PartSensitivity*> all;
        for (Setting* setting : assembly.settings()) {
            positions.push_back(std::make_unique<PartSensitivity>(*setting, parts));
            all.push_back(positions.back().get());
        }
        return slope_over_knob(measure, arguments, all);
    } catch (const Error&) {
        return slopes;  // the board has no solution there
    }
}

}  // namespace lowhiss
