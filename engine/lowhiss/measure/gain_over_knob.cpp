#include "lowhiss/measure/gain_over_knob.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"

namespace lowhiss {
namespace {

using Gains = MeasureRecord::Gains;

bool all_known(Gains gains_db) {
    return std::all_of(gains_db.begin(), gains_db.end(),
                       [](double gain) { return std::isfinite(gain); });
}

/// Two knob positions, and how much more gain the second has.
struct GainPair {
    std::size_t low = 0;
    std::size_t high = 0;
    double difference_db = unset;
};

GainPair least_and_most(Gains gains_db) {
    if (!all_known(gains_db)) return {};
    const auto [least, most] = std::minmax_element(gains_db.begin(), gains_db.end());
    return {static_cast<std::size_t>(least - gains_db.begin()),
            static_cast<std::size_t>(most - gains_db.begin()), *most - *least};
}

GainPair largest_step(Gains gains_db) {
    if (!all_known(gains_db)) return {};
    GainPair largest{0, 0, 0};
    for (std::size_t k = 1; k < gains_db.size(); ++k) {
        const double step_db = gains_db[k] - gains_db[k - 1];
        if (!(std::abs(step_db) > largest.difference_db)) continue;
        largest = step_db > 0 ? GainPair{k - 1, k, step_db} : GainPair{k, k - 1, -step_db};
    }
    return largest;
}

using FindPair = GainPair (*)(Gains gains_db);

MeasureRecord::Slopes slope_of(FindPair find, MeasureRecord::Sensitivities sensitivities,
                               double at_hz) {
    std::vector<double> gains;
    gains.reserve(sensitivities.size());
    for (PartSensitivity* each : sensitivities) {
        gains.push_back(gain_db(each->setting(), at_hz));
    }
    const GainPair pair = find(gains);
    if (std::isnan(pair.difference_db)) return sensitivities.front()->none();
    return difference(sensitivities[pair.high]->gain(at_hz), sensitivities[pair.low]->gain(at_hz));
}

}  // namespace

MeasureValue gain_range(Gains gains_db, const MeasureArguments& arguments) {
    return {least_and_most(gains_db).difference_db, arguments.at_hz};
}

MeasureRecord::Slopes gain_range_slope(MeasureRecord::Sensitivities sensitivities,
                                       const MeasureArguments& arguments) {
    return slope_of(least_and_most, sensitivities, arguments.at_hz);
}

MeasureValue gain_step(Gains gains_db, const MeasureArguments& arguments) {
    return {largest_step(gains_db).difference_db, arguments.at_hz};
}

MeasureRecord::Slopes gain_step_slope(MeasureRecord::Sensitivities sensitivities,
                                      const MeasureArguments& arguments) {
    return slope_of(largest_step, sensitivities, arguments.at_hz);
}

}  // namespace lowhiss
