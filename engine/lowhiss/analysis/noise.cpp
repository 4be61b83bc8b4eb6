#include "lowhiss/analysis/noise.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <random>

#include "lowhiss/analysis/integrate.hpp"
#include "lowhiss/analysis/network.hpp"
#include "lowhiss/analysis/weighting.hpp"
#include "lowhiss/solver/matrix.hpp"

namespace lowhiss {
namespace {

/// An output density below 1e-18 V/rtHz is rounding of an output without noise, such as that of a
/// noiseless stage driven by an ideal source.
constexpr double silence_v2_hz = 1e-36;

/// The natural frequencies whose resonance a coarse scan could miss.
std::vector<Complex> sharp_poles(Network& network) {
    constexpr double smooth_q = 2;
    std::vector<Complex> poles = network.natural_frequencies_rad_s();
    std::erase_if(
        poles, [](const Complex& s) { return !(std::abs(s) > smooth_q * 2 * std::abs(s.real())); });
    return poles;
}

double hertz(double radians_s) {
    return radians_s / (2 * std::numbers::pi);
}

/// The residual that a refined solution leaves in an equation, as a fraction of its terms.
constexpr double rounding_part = 4 * std::numeric_limits<double>::epsilon();

/// The rounding error in each equation of the adjoint: a fraction of |c| + |A^T| |y|, and the
/// residual.
std::vector<double> adjoint_rounding(const Network& network, double frequency_hz,
                                     const std::vector<Complex>& y) {
    const Pencil& pencil = network.pencil();
    std::vector<Complex> values(static_cast<std::size_t>(pencil.slots()));
    evaluate(pencil, frequency_hz, values);
    std::vector<Complex> left = network.output_selection();
    std::vector<double> rounding;
    rounding.reserve(y.size());
    for (const Complex& each : left) rounding.push_back(rounding_part * magnitude(each));
    for_each_slot(pencil, [&](std::size_t row, std::size_t column, std::size_t slot) {
        left[column] -= values[slot] * y[row];
        rounding[column] += rounding_part * magnitude(values[slot]) * magnitude(y[row]);
    });
    for (std::size_t k = 0; k < left.size(); ++k) rounding[k] += magnitude(left[k]);
    return rounding;
}

}  // namespace

std::vector<double> sharp_frequencies_hz(Network& network) {
    std::vector<double> frequencies;
    for (const Complex& s : sharp_poles(network)) frequencies.push_back(hertz(std::abs(s)));
    for (const auto& measured : network.pencil().measured) {
        for (const ImpedancePoint& point : *measured.points) {
            frequencies.push_back(point.frequency_hz);
        }
    }
    return frequencies;
}

std::vector<double> flank_frequencies_hz(Network& network) {
    std::vector<double> frequencies = sharp_frequencies_hz(network);
    for (const Complex& s : sharp_poles(network)) {
        for (const double widths : {-4.0, -2.0, -1.0, -0.5, 0.5, 1.0, 2.0, 4.0}) {
            const double omega = std::abs(s) + widths * std::abs(s.real());
            if (s.imag() > 0 && omega > 0) frequencies.push_back(hertz(omega));
        }
    }
    return frequencies;
}

OutputNoise integrate_noise(Network& network, const Band& band) {
    constexpr std::size_t totals = 3;
    const std::size_t groups = network.circuit().noise_groups.size();
    const auto densities_at = [&](const Response& response, std::span<double> values) {
        const std::vector<double>& by_group = response.noise_v2_hz;
        const double total = std::accumulate(by_group.begin(), by_group.end(), 0.0);
        if (total < silence_v2_hz) return std::fill(values.begin(), values.end(), 0.0);
        const double a = a_weighting(response.frequency_hz);
        const double w = itu_r_468_weighting(response.frequency_hz);
        values[0] = total;
        values[1] = total * a * a;
        values[2] = total * w * w;
        std::copy(by_group.begin(), by_group.end(), values.begin() + totals);
    };
    const auto densities = [&](std::span<const double> frequency_hz, std::span<double> values) {
        const std::vector<Response> responses = network.respond_all(frequency_hz);
        const std::size_t count = totals + groups;
        for (std::size_t k = 0; k < responses.size(); ++k) {
            densities_at(responses[k], values.subspan(k * count, count));
        }
    };
    const std::vector<double> integral =
        integrate_over_band(densities, totals + groups, totals, band.from_hz, band.to_hz,
                            sharp_frequencies_hz(network));
    return {integral[0], integral[1], integral[2], {integral.begin() + totals, integral.end()}};
}

std::vector<double> noise_uncertainty(Network& network, const Band& band) {
    constexpr int trials = 2;
    const Circuit& circuit = network.circuit();
    std::vector<double> power(circuit.noise_groups.size());
    std::vector<double> change(circuit.noise_groups.size());
    using Signs = std::minstd_rand;
    Signs signs;
    for (const double f_hz : {band.from_hz, std::sqrt(band.from_hz * band.to_hz), band.to_hz}) {
        const std::vector<Complex> y = network.solve(f_hz).y;
        const std::vector<double> rounding = adjoint_rounding(network, f_hz, y);
        std::vector<std::vector<Complex>> answers;
        for (int trial = 0; trial < trials; ++trial) {
            std::vector<Complex> change_of_c;
            change_of_c.reserve(rounding.size());
            const auto sign = [&] { return signs() > Signs::max() / 2 ? 1.0 : -1.0; };
            for (const double each : rounding) {
                const double re = sign() * each;
                change_of_c.emplace_back(re, sign() * each);
            }
            answers.push_back(network.adjoint_of(change_of_c));
        }
        for (const NoiseSource& source : circuit.noise) {
            const auto group = static_cast<std::size_t>(source.group);
            const double density = f_hz * density_at(source, circuit, f_hz);
            const double transfer = std::abs(transfer_of(source.injection, y));
            double error = 0;
            for (const auto& each : answers) {
                error = std::max(error, std::abs(transfer_of(source.injection, each)));
            }
            power[group] += density * transfer * transfer;
            change[group] += density * (2 * transfer + error) * error;
        }
    }
    for (std::size_t k = 0; k < power.size(); ++k) {
        if (change[k] > 0) change[k] /= power[k];
    }
    return change;
}

}  // namespace lowhiss
