#include "lowhiss/fit/fit_capsule.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "lowhiss/fit/least_squares.hpp"
#include "lowhiss/quantity/parse.hpp"
#include "lowhiss/quantity/print.hpp"

namespace lowhiss {
namespace {

constexpr std::size_t fewest_points = 8;
constexpr std::size_t most_resonances = 3;
constexpr double worth_a_resonance = 0.75;
constexpr double exact_rms = 5e-4;  // what rounding the figures to four digits changes
constexpr double largest_rms = 0.10;
constexpr double largest_error = 0.30;
constexpr double least_q = 0.1;
constexpr double largest_q = 200;

std::complex<double> measured(const ImpedancePoint& point) {
    return {point.resistance_ohm, point.reactance_ohm};
}

/// The unknowns are logarithms, so that all figures stay positive: coil resistance and inductance,
/// then three of each resonance.
DynamicCapsule capsule_at(const std::vector<double>& x) {
    DynamicCapsule capsule{std::exp(x[0]), std::exp(x[1]), {}};
    for (std::size_t k = 2; k + 2 < x.size(); k += 3) {
        capsule.resonances.push_back({std::exp(x[k]), std::exp(x[k + 1]), std::exp(x[k + 2])});
    }
    return capsule;
}

std::vector<double> relative_errors(const DynamicCapsule& capsule,
                                    const std::vector<ImpedancePoint>& points) {
    std::vector<double> errors;
    errors.reserve(2 * points.size());
    for (const ImpedancePoint& point : points) {
        const std::complex<double> z = measured(point);
        const std::complex<double> off =
            (impedance_of(capsule, point.frequency_hz) - z) / std::abs(z);
        errors.push_back(std::clamp(off.real(), -1e6, 1e6));
        errors.push_back(std::clamp(off.imag(), -1e6, 1e6));
    }
    return errors;
}

/// The rms of complex errors, from a list of their real and imaginary parts.
double rms_of(const std::vector<double>& errors) {
    return rms(errors) * std::numbers::sqrt2;
}

/// A resonance outside the measured band would be an extrapolation.
bool is_plausible(const DynamicCapsule& capsule, const std::vector<ImpedancePoint>& points) {
    return std::all_of(capsule.resonances.begin(), capsule.resonances.end(),
                       [&](const Resonance& r) {
                           return r.frequency_hz >= points.front().frequency_hz &&
                                  r.frequency_hz <= points.back().frequency_hz && r.q >= least_q &&
                                  r.q <= largest_q;
                       });
}

/// Frequencies at which the real part exceeds that of the fit most, the largest excess first, each
/// at least a third of an octave from the others.
std::vector<std::pair<double, double>> lacking(const DynamicCapsule& capsule,
                                               const std::vector<ImpedancePoint>& points) {
    std::vector<std::pair<double, double>> all;
    for (const ImpedancePoint& point : points) {
        const double more = point.resistance_ohm - impedance_of(capsule, point.frequency_hz).real();
        if (more > 0) all.emplace_back(point.frequency_hz, more);
    }
    std::sort(all.begin(), all.end(),
              [](const auto& a, const auto& b) { return a.second > b.second; });
    constexpr std::size_t most_places = 4;
    std::vector<std::pair<double, double>> places;
    for (const auto& place : all) {
        const bool apart = std::all_of(places.begin(), places.end(), [&](const auto& other) {
            return std::abs(std::log2(place.first / other.first)) > 1.0 / 3;
        });
        if (apart) places.push_back(place);
        if (places.size() == most_places) break;
    }
    return places;
}

/// The start of the search: the lowest resistance, and the inductance at the highest frequency.
std::vector<double> first_guess(const std::vector<ImpedancePoint>& points) {
    double least_ohm = infinite;
    for (const ImpedancePoint& p : points) least_ohm = std::min(least_ohm, p.resistance_ohm);
    const ImpedancePoint& last = points.back();
    const double omega = 2 * std::numbers::pi * last.frequency_hz;
    const double magnitude = std::abs(measured(last));
    const double henry = std::max(last.reactance_ohm, 1e-3 * magnitude) / omega;
    return {std::log(std::max(least_ohm, 1e-3 * magnitude)), std::log(henry)};
}

/// The best fit with one more resonance, or nothing if no plausible one is found.
std::vector<double> with_another(const std::vector<double>& x,
                                 const std::vector<ImpedancePoint>& points) {
    const Residuals residuals = [&](const std::vector<double>& at) {
        return relative_errors(capsule_at(at), points);
    };
    std::vector<double> best;
    double best_rms = infinite;
    for (const auto& [frequency_hz, ohm] : lacking(capsule_at(x), points)) {
        for (const double q : {0.7, 2.0, 8.0}) {
            std::vector<double> start = x;
            for (const double value : {frequency_hz, q, ohm}) start.push_back(std::log(value));
            const std::vector<double> found = least_squares(residuals, start);
            const double reached = rms(residuals(found));
            if (!(reached < best_rms) || !is_plausible(capsule_at(found), points)) continue;
            best = found;
            best_rms = reached;
        }
    }
    return best;
}

/// The value as it is printed, so that the residual is that of the figures in the file.
double rounded(double value, Unit unit) {
    constexpr int kept_digits = 4;
    const auto parsed = parse_quantity(print_quantity(value, unit, kept_digits), unit);
    const double* read = std::get_if<double>(&parsed);
    return read ? *read : value;
}

DynamicCapsule rounded(DynamicCapsule capsule, const std::vector<ImpedancePoint>& points) {
    const ImpedancePoint& last = points.back();
    const double omega = 2 * std::numbers::pi * last.frequency_hz;
    constexpr double unseen = 1e-3;
    const bool seen = omega * capsule.coil_inductance_h > unseen * std::abs(measured(last));
    capsule.coil_resistance_ohm = rounded(capsule.coil_resistance_ohm, Unit::ohm);
    capsule.coil_inductance_h = seen ? rounded(capsule.coil_inductance_h, Unit::henry) : 0;
    for (Resonance& r : capsule.resonances) {
        r = {rounded(r.frequency_hz, Unit::hertz), rounded(r.q, Unit::number),
             rounded(r.resistance_ohm, Unit::ohm)};
    }
    std::sort(capsule.resonances.begin(), capsule.resonances.end(),
              [](const auto& a, const auto& b) { return a.frequency_hz < b.frequency_hz; });
    return capsule;
}

FitResidual residual_of(const DynamicCapsule& capsule, const std::vector<ImpedancePoint>& points) {
    const std::vector<double> errors = relative_errors(capsule, points);
    FitResidual residual{rms_of(errors), 0, points.front().frequency_hz};
    for (std::size_t k = 0; k < points.size(); ++k) {
        const double off = std::hypot(errors[2 * k], errors[2 * k + 1]);
        if (off <= residual.worst) continue;
        residual.worst = off;
        residual.worst_hz = points[k].frequency_hz;
    }
    return residual;
}

/// A hint at the kind of impedance this is, for a message; may be empty.
std::string looks_like(const std::vector<ImpedancePoint>& points) {
    const auto capacitive = std::count_if(points.begin(), points.end(), [](const auto& p) {
        return p.reactance_ohm < -p.resistance_ohm;
    });
    return 2 * static_cast<std::size_t>(capacitive) > points.size()
               ? "; most of it is the reactance of a capacitance, as of a condenser capsule"
               : "";
}

}  // namespace

std::complex<double> impedance_of(const DynamicCapsule& capsule, double frequency_hz) {
    const double omega = 2 * std::numbers::pi * frequency_hz;
    std::complex<double> z{capsule.coil_resistance_ohm, omega * capsule.coil_inductance_h};
    for (const Resonance& r : capsule.resonances) {
        const double off = frequency_hz / r.frequency_hz - r.frequency_hz / frequency_hz;
        z += r.resistance_ohm / std::complex<double>{1, r.q * off};
    }
    return z;
}

std::variant<CapsuleFit, FitProblem> fit_capsule(const std::vector<ImpedancePoint>& points,
                                                 Band band) {
    CapsuleFit fit;
    for (const ImpedancePoint& point : points) {
        const bool inside = point.frequency_hz >= band.from_hz && point.frequency_hz <= band.to_hz;
        if (inside && std::abs(measured(point)) > 0) fit.points.push_back(point);
    }
    const std::string where =
        fmt::format("from {} to {}", print_quantity(band.from_hz, Unit::hertz),
                    print_quantity(band.to_hz, Unit::hertz));
    if (fit.points.size() < fewest_points) {
        return FitProblem{
            fmt::format("{} points {} are too few", fit.points.size(), where),
            fmt::format("{} points or more in the band that is fitted", fewest_points)};
    }
    const Residuals residuals = [&](const std::vector<double>& at) {
        return relative_errors(capsule_at(at), fit.points);
    };
    std::vector<double> x = least_squares(residuals, first_guess(fit.points));
    double reached = rms(residuals(x));
    // A pair of resonances may be worth its figures where the first of them alone is not.
    std::vector<double> tried = x;
    for (std::size_t count = 1; count <= most_resonances; ++count) {
        if (reached < exact_rms || 2 * fit.points.size() < 2 + 3 * count + 2) break;
        tried = with_another(tried, fit.points);
        if (tried.empty()) break;
        const double now = rms(residuals(tried));
        if (now > worth_a_resonance * reached) continue;
        x = tried;
        reached = now;
    }
    fit.capsule = rounded(capsule_at(x), fit.points);
    fit.residual = residual_of(fit.capsule, fit.points);
    if (fit.residual.rms > largest_rms || fit.residual.worst > largest_error) {
        return FitProblem{
            fmt::format(
                "no dynamic capsule has this impedance {}: the nearest one is off by {:.1f} "
                "% rms and by {:.0f} % at {}{}",
                where, 100 * fit.residual.rms, 100 * fit.residual.worst,
                print_quantity(fit.residual.worst_hz, Unit::hertz, 3), looks_like(fit.points)),
            "coil resistance, inductance and up to three resonances; kind = \"measured\" takes any "
            "impedance as it is"};
    }
    return fit;
}

}  // namespace lowhiss
