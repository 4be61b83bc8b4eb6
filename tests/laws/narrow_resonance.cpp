// A resonance far narrower than any plotted grid is integrated correctly.

#include <fmt/format.h>

#include "lowhiss/analysis/noise.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::narrow_resonance_test {

using test::Z;

constexpr double farad = 100e-9;

/// A parallel RLC has the noise 4kT Re Z. Z = s / C / (s^2 + s w0/Q + w0^2) has the poles p and p*:
/// its integral over s is (p ln(s - p) - p* ln(s - p*)) / (p - p*) / C.
double closed_form_v2(double f0, double q, const Band& band) {
    const double w0 = 2 * test::pi * f0;
    const Z p = w0 * Z(-1 / (2 * q), std::sqrt(1 - 1 / (4 * q * q)));
    const auto antiderivative = [&](double f_hz) {
        const Z s = test::s_at(f_hz);
        return (p * std::log(s - p) - std::conj(p) * std::log(s - std::conj(p))) /
               (p - std::conj(p)) / farad;
    };
    // ds = j domega.
    const Z integral = (antiderivative(band.to_hz) - antiderivative(band.from_hz)) / Z(0, 1);
    return test::thermal_v2_hz(1) * integral.real() / (2 * test::pi);
}

std::string resonator(double f0, double q, const std::string& foot = "gnd") {
    const double w0 = 2 * test::pi * f0;
    return fmt::format(R"(
R1 = {{ resistor = {1}, pins = ["out", "{0}"] }}
L1 = {{ inductor = {2}, pins = ["out", "{0}"] }}
C1 = {{ capacitor = {3}, pins = ["out", "{0}"] }}
)",
                       foot, q / (w0 * farad), 1 / (w0 * w0 * farad), farad);
}

/// The source is elsewhere, so that the noise at the output is that of the resonator alone.
double integrated_v2(const std::string& parts, const Band& band = {}) {
    Network network = test::network_of(
        {.parts = parts + "\nR9 = { resistor = \"1k\", pins = [\"in\", \"gnd\"] }\n"});
    return integrate_noise(network, band).power_v2;
}

double off_db(double f0, double q) {
    return db_from_power_ratio(integrated_v2(resonator(f0, q)) / closed_form_v2(f0, q, {}));
}

TEST_CASE("a resonance of Q 1000 in the band integrates to 0.001 dB") {
    for (const double f0 : {21.0, 150.0, 1234.5, 5e3, 19.99e3}) {
        CAPTURE(f0);
        CHECK_THAT(off_db(f0, 1000), WithinAbs(0, 0.001));
    }
}

TEST_CASE("so do sharper ones, flat ones, and ones at the very edges of the band") {
    for (const double q : {0.6, 2.1, 30.0, 1e5}) {
        for (const double f0 : {3.0, 20.0, 777.0, 20e3, 90e3}) {
            CAPTURE(q, f0);
            CHECK_THAT(off_db(f0, q), WithinAbs(0, 0.001));
        }
    }
}

TEST_CASE("in all it is kT/C, once more") {
    const double total = integrated_v2(resonator(5e3, 1000), {1e-5, 1e12});
    CHECK_THAT(total, WithinRel(test::boltzmann_j_k * 293.15 / farad, 1e-6));
}

TEST_CASE("a resonance on a board of many parts is found too, in white noise ten times its own") {
    // A line of 240 resistors, to ground at each joint: too many unknowns to know its poles from
    // the start. The resonator stands on its end.
    std::string line;
    double end_ohm = 0;
    for (int k = 0; k < 240; ++k) {
        line += fmt::format(
            "RS{0} = {{ resistor = 10, pins = [\"{1}\", \"m{0}\"] }}\n"
            "RP{0} = {{ resistor = 1e6, pins = [\"m{0}\", \"gnd\"] }}\n",
            k, k == 0 ? "in" : fmt::format("m{}", k - 1));
        end_ohm = 1 / (1 / (end_ohm + 10) + 1e-6);
    }
    for (const auto& [f0, q] : {std::pair(5e3, 1e3), std::pair(333.0, 1e4), std::pair(71.0, 1e5)}) {
        CAPTURE(f0, q);
        const double expected =
            closed_form_v2(f0, q, {}) + test::thermal_v2_hz(end_ohm) * (20000 - 20);
        const double v2 = integrated_v2(line + resonator(f0, q, "m239"));
        CHECK_THAT(db_from_power_ratio(v2 / expected), WithinAbs(0, 0.001));
    }
}

}  // namespace lowhiss::narrow_resonance_test
