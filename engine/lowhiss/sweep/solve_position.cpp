#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "lowhiss/analysis/phase.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/model_gaps.hpp"
#include "lowhiss/measure/or_unset.hpp"
#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/quantity/constants.hpp"
#include "lowhiss/sweep/solve_position.hpp"
#include "lowhiss/sweep/sweep.hpp"

namespace lowhiss {
namespace {

constexpr Band audio;

/// A measure over the band; unset where the circuit cannot be solved in all of it, as outside the
/// range of a measured capsule.
double over_band(Setting& p, std::string_view measure, const Band& band) {
    MeasureArguments arguments;
    arguments.band = band;
    try {
        return find_measure(measure)->at_setting(p, arguments).value;
    } catch (const Error&) {
        return unset;
    }
}

Measures measures_of(Setting& p, const Band& band) {
    Measures m;
    m.gain_1khz_db = gain_db(p, reference_hz);
    m.gain_20hz_db = gain_db(p, audio.from_hz);
    m.gain_20khz_db = gain_db(p, audio.to_hz);
    m.gain_from_terminals_1khz_db = gain_from_terminals_db(p, reference_hz);
    m.low_corner_hz = found_or_unset([&] { return p.low_corner_hz(); });
    m.high_corner_hz = found_or_unset([&] { return p.high_corner_hz(); });
    m.polarity = polarity(p);
    m.input_impedance_1khz_ohm = input_impedance_ohm(p, reference_hz);
    m.input_impedance_ohm = over_band(p, "input_impedance", band);
    m.output_impedance_ohm = over_band(p, "output_impedance", band);
    m.output_noise_v = output_noise_v(p, band);
    m.ein_v = ein_v(p, band);
    m.ein_dbu = ein_dbu(p, band);
    m.ein_a_dbu = ein_a_dbu(p, band);
    m.ein_468_dbu = ein_468_dbu(p, band);
    m.noise_figure_db = noise_figure_db(p, band);
    m.capsule_effect_20hz_db = capsule_effect_db(p, audio.from_hz);
    m.capsule_effect_1khz_db = capsule_effect_db(p, reference_hz);
    m.capsule_effect_20khz_db = capsule_effect_db(p, audio.to_hz);
    m.capsule_noise_rise_db = capsule_noise_rise_db(p, band);
    return m;
}

using GroupDensities = std::vector<std::vector<double>>;  ///< by frequency, then noise group

/// Fills the curves; returns each group's output noise density, in V^2/Hz.
GroupDensities fill_curves(Setting& p, const std::vector<double>& frequency_hz,
                           KnobResult& result) {
    GroupDensities densities;
    std::vector<Response> responses;
    p.prepare(frequency_hz);
    if (p.has_capsule()) p.prepare_ideal(frequency_hz);
    for (const double f_hz : frequency_hz) {
        responses.push_back(p.at(f_hz));
        result.gain_db.push_back(gain_db(p, f_hz));
        result.gain_from_terminals_db.push_back(gain_from_terminals_db(p, f_hz));
        result.group_delay_s.push_back(group_delay_s(p, f_hz));
        result.capsule_effect_db.push_back(capsule_effect_db(p, f_hz));
        result.input_impedance_ohm.push_back(input_impedance_ohm(p, f_hz));
        result.input_impedance_deg.push_back(input_impedance_deg(p, f_hz));
        densities.push_back(responses.back().noise_v2_hz);
        const double output =
            std::sqrt(std::accumulate(densities.back().begin(), densities.back().end(), 0.0));
        const double input = output / std::abs(responses.back().gain);
        result.output_noise_v_rthz.push_back(output);
        result.input_noise_v_rthz.push_back(std::isfinite(input) ? input : unset);
    }
    for (const double phase : unwrapped_phase(p.network(), responses, reference_hz)) {
        result.phase_deg.push_back(phase * 180 / std::numbers::pi);
    }
    return densities;
}

void fill_behaviour_curves(Setting& p, const std::vector<double>& frequency_hz,
                           KnobResult& result) {
    for (const double f_hz : frequency_hz) {
        result.max_input_v.push_back(headroom_at(p, f_hz).input_v);
        result.common_mode_rejection_db.push_back(common_mode_rejection_db(p, f_hz));
        result.output_impedance_ohm.push_back(output_impedance_ohm(p, f_hz));
    }
}

std::vector<NoiseShare> shares_of(Setting& p, const Band& band, const GroupDensities& densities) {
    const auto& groups = p.circuit().noise_groups;
    const OutputNoise& noise = p.noise(band);
    const std::vector<double> uncertainty = p.noise_uncertainty(band);
    std::vector<NoiseShare> shares;
    for (std::size_t k = 0; k < groups.size(); ++k) {
        const bool known = uncertainty[k] <= most_noise_uncertainty;
        const double power_v2 = known ? noise.by_group_v2[k] : unset;
        shares.push_back({groups[k].part,
                          groups[k].mechanism,
                          std::sqrt(power_v2),
                          power_v2 / noise.power_v2,
                          {}});
        for (const auto& at_frequency : densities) {
            shares.back().output_v_rthz.push_back(known ? std::sqrt(at_frequency[k]) : unset);
        }
    }
    const auto rank = [](const NoiseShare& s) { return std::isnan(s.share) ? -1 : s.share; };
    std::stable_sort(shares.begin(), shares.end(),
                     [&](const NoiseShare& a, const NoiseShare& b) { return rank(a) > rank(b); });
    return shares;
}

ToneLevel tone_of(const Board& board) {
    for (const Limit& limit : board.limits) {
        if (limit.measure->takes_level) return limit.arguments.level;
    }
    return {};
}

std::vector<Distortion> distortion_of(Setting& p) {
    std::vector<Distortion> rows;
    for (const double f_hz : {reference_hz, audio.from_hz}) {
        try {
            rows.push_back(distortion_at(p, f_hz, tone_of(p.board())));
            rows.push_back(distortion_of_loudest(p, f_hz));
        } catch (const Error&) {
            rows.resize(2 * ((rows.size() + 2) / 2));  // the harmonics were not measured
        }
    }
    return rows;
}

}  // namespace

KnobResult solve_position(Setting& setting, const SweepRequest& request) {
    KnobResult result;
    result.position = setting.rotation();
    result.resistance_ohm = setting.circuit().knob_ohm;
    const GroupDensities densities = fill_curves(setting, request.frequency_hz, result);
    result.measures = measures_of(setting, request.band);
    result.noise_by_part = shares_of(setting, request.band, densities);
    if (request.rolloff) {
        result.rolloff = setting.rolloff();
        result.corner_loss = setting.bass_loss(result.measures.low_corner_hz);
        result.bass_loss = setting.bass_loss(audio.from_hz);
        result.loading = capsule_loading(setting, audio);
    }
    if (request.behaviour) {
        result.behaviour = behaviour_of(setting, request.band, request.cables_f);
        fill_behaviour_curves(setting, request.frequency_hz, result);
        result.assumes_ideal = ModelGaps(setting.board()).at(setting);
    }
    if (request.source) result.source = source_noise(setting, request.band);
    if (request.distortion) result.distortion = distortion_of(setting);
    result.account = setting.account();
    return result;
}

KnobResult solve_position(const Board& assembled, const Capsule* capsule, double rotation,
                          const Plans& plans, const SweepRequest& request) {
    Setting setting(assembled, capsule, rotation, plans);
    return solve_position(setting, request);
}

}  // namespace lowhiss
