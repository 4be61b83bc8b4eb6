// The total noise of a capacitor is kT/C, whatever resistance it is connected to (equipartition:
// kT/2 for each store of energy).

#include <fmt/format.h>

#include "lowhiss/analysis/noise.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::ktc_test {

constexpr double kt = test::boltzmann_j_k * 300;

double total_v2(const std::string& parts, double corner_hz) {
    Network network = test::network_of({.parts = parts, .board = "temperature = 300"});
    // First-order networks leave 6e-9 of their noise outside, at each end.
    return integrate_noise(network, {corner_hz * 1e-8, corner_hz * 1e8}).power_v2;
}

// The accuracy of the integrals, 1e-7 of their value.
constexpr double tolerance = 1e-7;

TEST_CASE("any resistor with a capacitor hisses sqrt(kT/C) in all") {
    for (const double ohm : {50.0, 10e3, 1e9}) {
        for (const double farad : {50e-12, 1e-9, 10e-6}) {
            CAPTURE(ohm, farad);
            const std::string parts = fmt::format(
                "R1 = {{ resistor = {}, pins = [\"in\", \"out\"] }}\n"
                "C1 = {{ capacitor = {}, pins = [\"out\", \"gnd\"] }}\n",
                ohm, farad);
            const double total = total_v2(parts, 1 / (2 * test::pi * ohm * farad));
            CHECK_THAT(total, WithinRel(kt / farad, tolerance));
        }
    }
}

TEST_CASE("9.1016 uV of 50 pF and 2.0352 uV of 1 nF at 300 K") {
    // Computed from sqrt(kT/C), k of SI 2019.
    for (const auto& [farad, microvolt] : {std::pair(50e-12, 9.1016), std::pair(1e-9, 2.0352)}) {
        const std::string parts = fmt::format(
            "R1 = {{ resistor = \"10M\", pins = [\"in\", \"out\"] }}\n"
            "C1 = {{ capacitor = {}, pins = [\"out\", \"gnd\"] }}\n",
            farad);
        CHECK_THAT(std::sqrt(total_v2(parts, 100)) * 1e6, WithinAbs(microvolt, 5e-5));
    }
}

TEST_CASE("1 Gohm across a capsule of 68 pF at 25 degC") {
    // Closed forms for the resistor alone: in all sqrt(kT/C) = 7.7804 uV; from 20 Hz to 20 kHz
    // 4kT / (2 pi C) times the difference of arc tangents, 2.1178 uV; with A-weighting (IEC
    // 61672-1), by an independent quadrature, 0.48768 uV. Five digits.
    Network network =
        test::network_of({.parts = "R1 = { resistor = \"1G\", pins = [\"in\", \"out\"] }\n"
                                   "C1 = { capacitor = \"68p\", pins = [\"out\", \"gnd\"] }\n",
                          .board = "temperature = \"298.15 K\""});
    const OutputNoise audio = integrate_noise(network, {20, 20e3});
    CHECK_THAT(std::sqrt(audio.power_v2), WithinRel(2.1178e-6, 3e-5));
    // The band's ends take 1e-5 of the weighted power.
    CHECK_THAT(std::sqrt(integrate_noise(network, {1, 200e3}).a_weighted_v2),
               WithinRel(0.48768e-6, 3e-5));
    CHECK_THAT(std::sqrt(integrate_noise(network, {1e-8, 1e8}).power_v2),
               WithinRel(7.7804e-6, 1e-5));
}

TEST_CASE("a coil in the loop does not change the capacitor's total, whatever the Q") {
    for (const double ohm : {3.3, 1e3, 33e3}) {
        CAPTURE(ohm);
        const std::string parts = fmt::format(
            "R1 = {{ resistor = {}, pins = [\"in\", \"a\"] }}\n"
            "L1 = {{ inductor = \"100m\", pins = [\"a\", \"out\"] }}\n"
            "C1 = {{ capacitor = \"10n\", pins = [\"out\", \"gnd\"] }}\n",
            ohm);
        CHECK_THAT(total_v2(parts, 5000), WithinRel(kt / 10e-9, tolerance));
    }
}

TEST_CASE("of two capacitors in a net of resistors, each has kT/C") {
    const std::string parts = R"(
R1 = { resistor = "1k", pins = ["in", "a"] }
C1 = { capacitor = "22n", pins = ["a", "gnd"] }
R2 = { resistor = "47k", pins = ["a", "out"] }
C2 = { capacitor = "1n", pins = ["out", "gnd"] }
R3 = { resistor = "100k", pins = ["out", "gnd"] }
)";
    CHECK_THAT(total_v2(parts, 5000), WithinRel(kt / 1e-9, tolerance));
}

}  // namespace lowhiss::ktc_test
