#include "lowhiss/board/model.hpp"

#include <numbers>

namespace lowhiss {

PreampIcTimes times_of(const PreampIcModel& model) {
    if (model.bandwidth.size() != 2) return {};
    const auto period = [](const GainBandwidth& row) {
        return 1 / (2 * std::numbers::pi * row.frequency_hz);
    };
    const GainBandwidth& low = model.bandwidth[0];
    const GainBandwidth& high = model.bandwidth[1];
    const double slope = (period(high) - period(low)) / (high.gain - low.gain);
    return {period(low) - slope * low.gain, slope * model.gain_offset};
}

}  // namespace lowhiss
