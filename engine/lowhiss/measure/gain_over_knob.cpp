#include "lowhiss/measure/gain_over_knob.hpp"

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/part_sensitivity.hpp"

namespace lowhiss {
namespace {

/// Empty where one of the settings has no gain.
std::vector<double> gains_db(MeasureRecord::Settings settings, double frequency_hz) {
    std::vector<double> gains;
    gains.reserve(settings.size());
    for (Setting* setting : settings) gains.push_back(gain_db(*setting, frequency_hz));
    const bool all =
        std::all_of(gains.begin(), gains.end(), [](double g) { return std::isfinite(g); });
    return all ? gains : std::vector<double>{};
}

/// Two knob positions, and how much more gain the second has.
struct GainPair {
    std::size_t low = 0;
    std::size_t high = 0;
    double difference_db = unset;
};

GainPair least_and_most(const std::vector<double>& gains_db) {
    if (gains_db.empty()) return {};
    const auto [least, most] = std::minmax_element(gains_db.begin(), gains_db.end());
    return {static_cast<std::size_t>(least - gains_db.begin()),
            static_cast<std::size_t>(most - gains_db.begin()), *most - *least};
}

GainPair largest_step(const std::vector<double>& gains_db) {
    if (gains_db.empty()) return {};
    GainPair largest{0, 0, 0};
    for (std::size_t k = 1; k < gains_db.size(); ++k) {
        const double step_db = gains_db[k] - gains_db[k - 1];
        if (!(std::abs(step_db) > largest.difference_db)) continue;
        largest = step_db > 0 ? GainPair{k - 1, k, step_db} : GainPair{k, k - 1, -step_db};
    }
    return largest;
}

using FindPair = GainPair (*)(const std::vector<double>& gains_db);

MeasureValue value_of(FindPair find, MeasureRecord::Settings settings, double at_hz) {
    return {find(gains_db(settings, at_hz)).difference_db, at_hz};
}

MeasureRecord::Slopes slope_of(FindPair find, MeasureRecord::Sensitivities sensitivities,
                               double at_hz) {
    std::vector<Setting*> settings;
    settings.reserve(sensitivities.size());
    for (PartSensitivity* each : sensitivities) settings.push_back(&each->setting());
    const GainPair pair = find(gains_db(settings, at_hz));
    if (std::isnan(pair.difference_db)) return sensitivities.front()->none();
    return difference(sensitivities[pair.high]->gain(at_hz), sensitivities[pair.low]->gain(at_hz));
}

}  // namespace

MeasureValue gain_range(MeasureRecord::Settings settings, const MeasureArguments& arguments) {
    return value_of(least_and_most, settings, arguments.at_hz);
}

MeasureRecord::Slopes gain_range_slope(MeasureRecord::Sensitivities sensitivities,
                                       const MeasureArguments& arguments) {
    return slope_of(least_and_most, sensitivities, arguments.at_hz);
}

MeasureValue gain_step(MeasureRecord::Settings settings, const MeasureArguments& arguments) {
    return value_of(largest_step, settings, arguments.at_hz);
}

MeasureRecord::Slopes gain_step_slope(MeasureRecord::Sensitivities sensitivities,
                                      const MeasureArguments& arguments) {
    return slope_of(largest_step, sensitivities, arguments.at_hz);
}

}  // namespace lowhiss
