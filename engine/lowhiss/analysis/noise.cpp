#include "lowhiss/analysis/noise.hpp"

#include <algorithm>
#include <numbers>
#include <numeric>

#include "lowhiss/analysis/integrate.hpp"
#include "lowhiss/analysis/natural_frequencies.hpp"
#include "lowhiss/analysis/network.hpp"
#include "lowhiss/analysis/weighting.hpp"

namespace lowhiss {
namespace {

/// An output density below 1e-18 V/rtHz is rounding of an output without noise, such as that of a
/// noiseless stage driven by an ideal source.
constexpr double silence_v2_hz = 1e-36;

/// The natural frequencies whose bend a coarse scan could miss.
std::vector<Complex> sharp_poles(const Network& network) {
    constexpr double smooth_q = 2;
    std::vector<Complex> poles = natural_frequencies(network.pencil(), *network.plan());
    std::erase_if(
        poles, [](const Complex& s) { return !(std::abs(s) > smooth_q * 2 * std::abs(s.real())); });
    return poles;
}

double hertz(double radians_s) {
    return radians_s / (2 * std::numbers::pi);
}

}  // namespace

std::vector<double> sharp_frequencies_hz(const Network& network) {
    std::vector<double> frequencies;
    for (const Complex& s : sharp_poles(network)) frequencies.push_back(hertz(std::abs(s)));
    for (const auto& measured : network.pencil().measured) {
        for (const ImpedancePoint& point : *measured.points) {
            frequencies.push_back(point.frequency_hz);
        }
    }
    return frequencies;
}

std::vector<double> flank_frequencies_hz(const Network& network) {
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

}  // namespace lowhiss
