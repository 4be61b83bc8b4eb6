#include "lowhiss/analysis/weighting.hpp"

#include <cmath>
#include <complex>
#include <numbers>

#include "lowhiss/quantity/constants.hpp"

namespace lowhiss {
namespace {

struct APoles {
    double p1_hz, p2_hz, p3_hz, p4_hz;
};

/// p1 and p4 make the C-weighting 3 dB down at 10^1.5 and 10^3.9 Hz; p2 and p3 are the poles of two
/// coupled RC high-passes around 10^2.45 Hz.
APoles a_poles() {
    const double low_squared = 1e3;
    const double high_squared = std::pow(10, 7.8);
    const double middle_hz = std::pow(10, 2.45);
    const double reference_squared = reference_hz * reference_hz;
    const double half_power = std::numbers::sqrt2 / 2;

    // p1^2 and p4^2 are the roots of x^2 + b x + c. The smaller one is computed from their product;
    // the usual formula would cancel all but ten of its digits.
    const double c = low_squared * high_squared;
    const double b =
        (reference_squared + c / reference_squared - half_power * (low_squared + high_squared)) /
        (1 - half_power);
    const double p4_squared = (-b + std::sqrt(b * b - 4 * c)) / 2;
    return {std::sqrt(c / p4_squared), middle_hz * (3 - std::sqrt(5)) / 2,
            middle_hz * (3 + std::sqrt(5)) / 2, std::sqrt(p4_squared)};
}

double high_pass(double frequency_hz, double pole_hz) {
    return 1 / std::hypot(1, pole_hz / frequency_hz);
}

double low_pass(double frequency_hz, double pole_hz) {
    return 1 / std::hypot(1, frequency_hz / pole_hz);
}

double a_magnitude(double frequency_hz) {
    static const APoles poles = a_poles();
    const double first = high_pass(frequency_hz, poles.p1_hz);
    const double last = low_pass(frequency_hz, poles.p4_hz);
    return first * first * high_pass(frequency_hz, poles.p2_hz) *
           high_pass(frequency_hz, poles.p3_hz) * last * last;
}

/// Computed from one volt across the load back to the source. From the series capacitor on, voltage
/// and current are multiplied by s times its capacitance, so that nothing is divided by zero at 0
/// Hz.
double itu_r_468_magnitude(double frequency_hz) {
    const std::complex<double> s(0, 2 * std::numbers::pi * frequency_hz);
    constexpr double source_ohm = 600;
    constexpr double load_ohm = 600;
    const auto series = s * 33.06e-9;

    std::complex<double> volt = 1;
    std::complex<double> ampere = volt / load_ohm + s * 31.47e-9 * volt;
    volt += s * 26.49e-3 * ampere;
    ampere += s * 9.21e-9 * volt;
    volt = series * volt + ampere;
    ampere *= series;
    ampere += s * 26.82e-9 * volt;
    volt += s * 12.88e-3 * ampere;
    ampere += s * 13.85e-9 * volt;
    return std::abs(series / (volt + source_ohm * ampere));
}

}  // namespace

double a_weighting(double frequency_hz) {
    static const double reference = a_magnitude(reference_hz);
    return a_magnitude(frequency_hz) / reference;
}

double itu_r_468_weighting(double frequency_hz) {
    static const double reference = itu_r_468_magnitude(reference_hz);
    return itu_r_468_magnitude(frequency_hz) / reference;
}

}  // namespace lowhiss
