#include "lowhiss/measure/part_sensitivity.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>

#include "lowhiss/analysis/integrate.hpp"
#include "lowhiss/analysis/weighting.hpp"
#include "lowhiss/bias/operating_point.hpp"
#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/extremes.hpp"
#include "lowhiss/measure/figures.hpp"
#include "lowhiss/measure/ideal.hpp"

namespace lowhiss {
namespace {

/// In ln p. Half of it is what a derivative from it is off by; rounding over it, what is lost.
constexpr double step = 1e-6;

constexpr double percent = 0.01;
const double db_of_ln = 20 / std::numbers::ln10;  // of a ratio of voltages

std::vector<double> difference(std::vector<double> a, const std::vector<double>& b) {
    for (std::size_t k = 0; k < a.size(); ++k) a[k] -= b[k];
    return a;
}

template <class Map>
std::vector<double> mapped(const std::vector<Complex>& ln, Map map) {
    std::vector<double> result;
    result.reserve(ln.size());
    for (const Complex& z : ln) result.push_back(map(z));
    return result;
}

std::vector<double> in_db(const std::vector<Complex>& ln) {
    return mapped(ln, [](Complex z) { return percent * db_of_ln * z.real(); });
}

}  // namespace

PartSensitivity::PartSensitivity(const Board& assembled, const Capsule* capsule, double rotation,
                                 const Plans& plans, std::vector<std::size_t> parts)
    : board_(assembled),
      capsule_(capsule),
      rotation_(rotation),
      plans_(plans),
      parts_(std::move(parts)),
      setting_(std::make_unique<Setting>(assembled, capsule, rotation, plans)),
      // make_unique would move it, and a network stays where it is made.
      real_(new Side(make_side(false))) {}  // NOLINT(modernize-make-unique)

PartSensitivity::Side PartSensitivity::make_side(bool ideal) const {
    const auto build = [&](const Board& board) {
        return ideal ? build_ideal(board, capsule_, rotation_)
                     : small_signal_circuit(board, rotation_, capsule_);
    };
    const Circuit circuit = build(board_);
    std::vector<ValueSlope> slopes;
    for (const std::size_t part : parts_) {
        Board moved = board_;
        stray(moved.parts[part], std::expm1(step));
        slopes.push_back(value_slope(circuit, build(moved), step));
    }
    return {Network(circuit, ideal ? plans_.ideal : plans_.real), std::move(slopes)};
}

PartSensitivity::Side& PartSensitivity::ideal() {
    if (!ideal_) ideal_.reset(new Side(make_side(true)));  // NOLINT(modernize-make-unique)
    return *ideal_;
}

double PartSensitivity::gain_db(double frequency_hz) const {
    return lowhiss::gain_db(*setting_, frequency_hz);
}

PartSensitivity::Slopes PartSensitivity::none() const {
    Slopes slopes(parts_.size(), unset);
    return slopes;
}

PartSensitivity::Slopes PartSensitivity::gain(double frequency_hz) {
    return in_db(response_slopes(real_->network, real_->slopes, frequency_hz).ln_gain);
}

PartSensitivity::Slopes PartSensitivity::gain_from_terminals(double frequency_hz) {
    const auto slopes = response_slopes(real_->network, real_->slopes, frequency_hz);
    return difference(in_db(slopes.ln_gain), in_db(slopes.ln_input_voltage));
}

PartSensitivity::Slopes PartSensitivity::capsule_effect(double frequency_hz) {
    if (!capsule_) return Slopes(parts_.size());
    return difference(
        gain(frequency_hz),
        in_db(response_slopes(ideal().network, ideal().slopes, frequency_hz).ln_gain));
}

PartSensitivity::Slopes PartSensitivity::phase(double frequency_hz) {
    return mapped(response_slopes(real_->network, real_->slopes, frequency_hz).ln_gain,
                  [](Complex z) { return percent * z.imag() * 180 / std::numbers::pi; });
}

PartSensitivity::Slopes PartSensitivity::group_delay(double frequency_hz) {
    Slopes slopes = response_slopes(real_->network, real_->slopes, frequency_hz).group_delay_s;
    for (double& slope : slopes) slope *= percent;
    return slopes;
}

PartSensitivity::Slopes PartSensitivity::input_impedance(double frequency_hz) {
    return mapped(response_slopes(real_->network, real_->slopes, frequency_hz).ln_input_impedance,
                  [](Complex z) { return z.real(); });
}

/// Of Z / (1 - Z Y), what the load and the cable take being left out.
PartSensitivity::Slopes PartSensitivity::output_impedance(double frequency_hz) {
    const Complex loaded_ohm = setting_->at(frequency_hz).output_impedance_ohm;
    const Complex outside{1 / board_.output.load_ohm,
                          2 * std::numbers::pi * frequency_hz * board_.output.cable_f};
    const Complex factor = 1.0 / (1.0 - loaded_ohm * outside);
    return mapped(response_slopes(real_->network, real_->slopes, frequency_hz).ln_output_impedance,
                  [&](Complex z) { return (z * factor).real(); });
}

/// Largest less smallest over the band: where they are moves nothing to first order.
PartSensitivity::Slopes PartSensitivity::spread(Curve curve, const Band& band, AtFrequency slopes) {
    setting_->prepare(scan_frequencies_hz(band, setting_->resonances_hz()));
    const Extremes found = extremes_over_band([&](double f_hz) { return curve(*setting_, f_hz); },
                                              band, setting_->resonances_hz());
    if (std::isnan(found.largest.at_hz)) return none();
    return difference((this->*slopes)(found.largest.at_hz), (this->*slopes)(found.smallest.at_hz));
}

/// The corner moves until the gain there has changed as much as that at 1 kHz.
PartSensitivity::Slopes PartSensitivity::corner(Corner which) {
    const double f_hz =
        which == Corner::low ? setting_->low_corner_hz() : setting_->high_corner_hz();
    if (!std::isfinite(f_hz)) return none();
    const Response& response = setting_->at(f_hz);
    const double steepness =
        2 * std::numbers::pi * f_hz * (response.gain_slope_s / response.gain).real();
    Slopes result = difference(gain(reference_hz), gain(f_hz));
    for (double& slope : result) slope /= percent * db_of_ln * steepness;
    return result;
}

/// Of the groups that count, in dB of power.
PartSensitivity::Slopes PartSensitivity::noise(Side& side, const Band& band, Weighting weighting,
                                               const std::vector<bool>& counts, double* power_v2) {
    const std::size_t count = 1 + side.slopes.size();
    const auto densities = [&](std::span<const double> frequency_hz, std::span<double> values) {
        for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
            const double f_hz = frequency_hz[k];
            const NoiseSlopes s = noise_slopes(side.network, side.slopes, f_hz, counts);
            const double w = weighting == Weighting::a       ? a_weighting(f_hz)
                             : weighting == Weighting::bs468 ? itu_r_468_weighting(f_hz)
                                                             : 1;
            const auto at = values.subspan(k * count, count);
            at[0] = w * w * s.v2_hz;
            for (std::size_t i = 1; i < count; ++i) at[i] = w * w * s.slope_v2_hz[i - 1];
        }
    };
    const std::vector<double> integral = integrate_over_band(
        densities, count, 1, band.from_hz, band.to_hz, sharp_frequencies_hz(side.network));
    if (power_v2) *power_v2 = integral.front();
    Slopes result(integral.begin() + 1, integral.end());
    for (double& slope : result) slope *= percent * db_of_ln / 2 / integral.front();
    return result;
}

PartSensitivity::Slopes PartSensitivity::all_noise(Side& side, const Band& band,
                                                   Weighting weighting) {
    const std::vector<bool> all(side.network.circuit().noise_groups.size(), true);
    return noise(side, band, weighting, all);
}

PartSensitivity::Slopes PartSensitivity::referred(const Band& band, Weighting weighting) {
    return difference(all_noise(*real_, band, weighting), gain(reference_hz));
}

PartSensitivity::Slopes PartSensitivity::noise_figure(const Band& band) {
    std::vector<bool> counts;
    for (const NoiseGroup& group : real_->network.circuit().noise_groups) {
        counts.push_back(group.part == capsule_part && group.mechanism == Mechanism::thermal);
    }
    return difference(all_noise(*real_, band, Weighting::none),
                      noise(*real_, band, Weighting::none, counts));
}

PartSensitivity::Slopes PartSensitivity::noise_share(const Band& band, const std::string& part) {
    const auto& groups = real_->network.circuit().noise_groups;
    std::vector<bool> counts;
    counts.reserve(groups.size());
    for (const NoiseGroup& group : groups) counts.push_back(group.part == part);
    double of_part_v2 = 0;
    double of_all_v2 = 0;
    const Slopes part_db = noise(*real_, band, Weighting::none, counts, &of_part_v2);
    const Slopes all_db =
        noise(*real_, band, Weighting::none, std::vector<bool>(groups.size(), true), &of_all_v2);
    Slopes result = difference(part_db, all_db);
    for (double& slope : result) slope *= of_part_v2 / of_all_v2 / (db_of_ln / 2);
    return result;
}

std::vector<double> PartSensitivity::per_percent(const MeasureRecord& measure,
                                                 const MeasureArguments& arguments) {
    using P = PartSensitivity;
    const double at_hz = arguments.at_hz;
    const Band& band = arguments.band;
    const auto at_extreme = [&](Curve curve, bool largest, AtFrequency slopes) {
        const Extremes found = extremes_over_band(
            [&](double f_hz) { return curve(*setting_, f_hz); }, band, setting_->resonances_hz());
        const double f_hz = largest ? found.largest.at_hz : found.smallest.at_hz;
        return std::isnan(f_hz) ? none() : (this->*slopes)(f_hz);
    };
    const std::map<std::string_view, std::function<Slopes()>> known{
        {"gain", [&] { return gain(at_hz); }},
        {"gain_from_terminals", [&] { return gain_from_terminals(at_hz); }},
        {"attenuation", [&] { return difference(gain(reference_hz), gain(at_hz)); }},
        {"flatness", [&] { return spread(lowhiss::gain_db, band, &P::gain); }},
        {"phase", [&] { return phase(at_hz); }},
        {"phase_spread", [&] { return spread(phase_deg, band, &P::phase); }},
        {"group_delay", [&] { return group_delay(at_hz); }},
        {"group_delay_spread", [&] { return spread(group_delay_s, band, &P::group_delay); }},
        {"input_impedance",
         [&] { return at_extreme(input_impedance_ohm, false, &P::input_impedance); }},
        {"output_impedance",
         [&] { return at_extreme(output_impedance_ohm, true, &P::output_impedance); }},
        {"capsule_effect", [&] { return capsule_effect(at_hz); }},
        {"capsule_effect_spread",
         [&] { return spread(capsule_effect_db, band, &P::capsule_effect); }},
        {"low_corner", [&] { return corner(Corner::low); }},
        {"high_corner", [&] { return corner(Corner::high); }},
        {"output_noise", [&] { return all_noise(*real_, band, Weighting::none); }},
        {"ein", [&] { return referred(band, Weighting::none); }},
        {"ein_a", [&] { return referred(band, Weighting::a); }},
        {"ein_468", [&] { return referred(band, Weighting::bs468); }},
        {"output_level", [&] { return gain(at_hz); }},
        {"self_noise", [&] { return referred(band, Weighting::a); }},
        {"noise_figure", [&] { return noise_figure(band); }},
        {"noise_share", [&] { return noise_share(band, arguments.part); }},
        {"capsule_noise_rise",
         [&] {
             return difference(all_noise(*real_, band, Weighting::none),
                               all_noise(ideal(), band, Weighting::none));
         }},
    };
    const auto found = known.find(measure.name);
    Slopes result = found == known.end() ? none() : found->second();
    for (std::size_t k = 0; k < result.size(); ++k) {
        if (!real_->slopes[k].known) result[k] = unset;
    }
    return result;
}

}  // namespace lowhiss
