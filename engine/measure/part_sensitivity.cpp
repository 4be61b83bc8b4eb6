#include "lowhiss/measure/part_sensitivity.hpp"

#include <cmath>
#include <functional>
#include <map>
#include <numbers>

#include "ideal.hpp"
#include "lowhiss/measure/corner.hpp"
#include "lowhiss/measure/integrate.hpp"
#include "lowhiss/measure/random_board.hpp"
#include "lowhiss/measure/weighting.hpp"

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

}  // namespace

PartSensitivity::PartSensitivity(const Board& assembled, const Capsule* capsule, double rotation,
                                 const Plans& plans, const std::vector<std::size_t>& parts)
    : board_(assembled),
      capsule_(capsule),
      rotation_(rotation),
      plans_(plans),
      parts_(parts),
      real_(make_side(false)) {}

PartSensitivity::Side PartSensitivity::make_side(bool ideal) const {
    const auto build = [&](const Board& board) {
        return ideal ? build_ideal(board, capsule_, rotation_)
                     : build_circuit(board, rotation_, capsule_);
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
    // Not make_unique: a network stays where it is made.
    if (!ideal_) ideal_.reset(new Side(make_side(true)));
    return *ideal_;
}

std::vector<Complex> PartSensitivity::gain(Side& side, double frequency_hz) {
    return sensitivity_at(side.network, side.slopes, frequency_hz).gain;
}

std::vector<double> PartSensitivity::gain_db(Side& side, double frequency_hz) {
    std::vector<double> result;
    for (const Complex& ln : gain(side, frequency_hz)) {
        result.push_back(percent * db_of_ln * ln.real());
    }
    return result;
}

/// Output noise of the band.
std::vector<double> PartSensitivity::noise_db(Side& side, const Band& band, Weighting weighting) {
    const std::size_t count = 1 + side.slopes.size();
    const auto densities = [&](std::span<const double> frequency_hz, std::span<double> values) {
        for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
            const double f_hz = frequency_hz[k];
            const Sensitivity s = sensitivity_at(side.network, side.slopes, f_hz);
            const double w = weighting == Weighting::a       ? a_weighting(f_hz)
                             : weighting == Weighting::bs468 ? itu_r_468_weighting(f_hz)
                                                             : 1;
            const auto at = values.subspan(k * count, count);
            at[0] = w * w * s.output_noise_v2_hz;
            for (std::size_t i = 1; i < count; ++i) at[i] = w * w * s.noise_v2_hz[i - 1];
        }
    };
    std::vector<double> integral = integrate_over_band(
        densities, count, 1, band.from_hz, band.to_hz, sharp_frequencies_hz(side.network));
    const double power_v2 = integral.front();
    integral.erase(integral.begin());
    for (double& slope : integral) slope *= percent * db_of_ln / 2 / power_v2;
    return integral;
}

/// The corner moves until the gain there has changed as much as that at 1 kHz.
std::vector<double> PartSensitivity::corner(double corner_hz) {
    const std::vector<Complex> at_corner = gain(real_, corner_hz);
    const std::vector<Complex> at_1k = gain(real_, reference_hz);
    const Response response = real_.network.respond(corner_hz);
    const double steepness =
        2 * std::numbers::pi * corner_hz * (response.gain_slope_s / response.gain).real();
    std::vector<double> result;
    for (std::size_t k = 0; k < at_1k.size(); ++k) {
        result.push_back((at_1k[k] - at_corner[k]).real() / steepness);
    }
    return result;
}

std::vector<double> PartSensitivity::per_percent(const MeasureRecord& measure,
                                                 const MeasureArguments& arguments) {
    const double at_hz = arguments.at_hz;
    const Band& band = arguments.band;
    const auto referred = [&](Weighting weighting) {
        return difference(noise_db(real_, band, weighting), gain_db(real_, reference_hz));
    };
    const auto corner_of = [&](Corner which) {
        const double f_hz = corner_hz(real_.network, real_.network.respond(reference_hz), which);
        return std::isfinite(f_hz) ? corner(f_hz) : std::vector<double>(parts_.size(), unset);
    };
    const auto phase = [&] {
        std::vector<double> result;
        for (const Complex& ln : gain(real_, at_hz)) {
            result.push_back(percent * ln.imag() * 180 / std::numbers::pi);
        }
        return result;
    };
    const std::map<std::string_view, std::function<std::vector<double>()>> known{
        {"gain", [&] { return gain_db(real_, at_hz); }},
        {"attenuation",
         [&] { return difference(gain_db(real_, reference_hz), gain_db(real_, at_hz)); }},
        {"phase", phase},
        {"capsule_effect",
         [&] { return difference(gain_db(real_, at_hz), gain_db(ideal(), at_hz)); }},
        {"low_corner", [&] { return corner_of(Corner::low); }},
        {"high_corner", [&] { return corner_of(Corner::high); }},
        {"output_noise", [&] { return noise_db(real_, band, Weighting::none); }},
        {"ein", [&] { return referred(Weighting::none); }},
        {"ein_a", [&] { return referred(Weighting::a); }},
        {"ein_468", [&] { return referred(Weighting::bs468); }},
        {"capsule_noise_rise",
         [&] {
             return difference(noise_db(real_, band, Weighting::none),
                               noise_db(ideal(), band, Weighting::none));
         }},
    };
    const auto found = known.find(measure.name);
    std::vector<double> result(parts_.size(), unset);
    if (found != known.end()) result = found->second();
    for (std::size_t k = 0; k < result.size(); ++k) {
        if (!real_.slopes[k].known) result[k] = unset;
    }
    return result;
}

}  // namespace lowhiss
