// A phase of many turns, known in closed form, is unwrapped correctly on any grid.

#include <fmt/format.h>

#include <algorithm>

#include "lowhiss/analysis/phase.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::phase_turns_test {

constexpr int sections = 24;
constexpr double time_s = 10e3 * 1e-9;

/// Cascade of all-passes (1 - sRC) / (1 + sRC): 2 low-passed minus itself, buffered.
test::Stage all_passes() {
    std::string parts;
    for (int k = 0; k < sections; ++k) {
        const std::string in = k == 0 ? "in" : fmt::format("n{}", k);
        const std::string out = k + 1 == sections ? "out" : fmt::format("n{}", k + 1);
        parts += fmt::format(R"(
R{0} = {{ resistor = "10k", pins = ["{1}", "lp{0}"] }}
C{0} = {{ capacitor = "1n", pins = ["lp{0}", "gnd"] }}
ED{0} = {{ voltage_gain = 2, control = ["lp{0}", "gnd"], pins = ["twice{0}", "gnd"] }}
ES{0} = {{ voltage_gain = -1, control = ["{1}", "gnd"], pins = ["{2}", "twice{0}"] }}
)",
                             k, in, out);
    }
    return {.parts = parts};
}

/// -2 N atan(omega RC), shifted by whole turns so that it lies in (-180, 180] degrees at 1 kHz.
double expected_deg(double f_hz) {
    const auto turning = [](double at_hz) {
        return -2 * sections * std::atan(2 * test::pi * at_hz * time_s) * 180 / test::pi;
    };
    return turning(f_hz) - 360 * std::round(turning(1000) / 360);
}

/// Phases of a network on a grid, in degrees.
std::vector<double> phases_deg(Network& network, const std::vector<double>& frequency_hz) {
    std::vector<Response> responses;
    for (const double f_hz : frequency_hz) responses.push_back(network.respond(f_hz));
    std::vector<double> phase = unwrapped_phase(network, responses, 1000);
    for (double& angle : phase) angle *= 180 / test::pi;
    return phase;
}

void check_grid(const std::vector<double>& frequency_hz) {
    Network network = test::network_of(all_passes());
    const std::vector<double> phase = phases_deg(network, frequency_hz);
    for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
        CAPTURE(frequency_hz[k]);
        // 24 turns of rounding; a lost turn would be 360.
        CHECK_THAT(phase[k], WithinAbs(expected_deg(frequency_hz[k]), 1e-8));
    }
}

TEST_CASE("24 all-passes turn by 24 times 180 degrees, however few points are asked") {
    check_grid({1, 10, 100, 1e3, 10e3, 100e3, 1e6, 10e6});
    check_grid({20, 20e3});
    check_grid({10e6});
    check_grid({0.01});
    check_grid({1000});
}

TEST_CASE("a point's phase is the same on a dense and on a sparse grid") {
    std::vector<double> dense;
    for (int k = 0; k <= 700; ++k) dense.push_back(std::pow(10.0, k / 100.0));
    check_grid(dense);
}

TEST_CASE("where the gain is lost in rounding, the phase is unset and the search for it ends") {
    std::string parts;
    for (int k = 0; k < 1000; ++k) {
        const std::string in = k == 0 ? "in" : fmt::format("n{}", k);
        const std::string out = k == 999 ? "out" : fmt::format("n{}", k + 1);
        parts += fmt::format(
            "R{0} = {{ resistor = \"1k\", pins = [\"{1}\", \"{2}\"] }}\n"
            "C{0} = {{ capacitor = \"1n\", pins = [\"{2}\", \"gnd\"] }}\n",
            k, in, out);
    }
    Network network = test::network_of({.parts = parts});
    // Minus some 300 dB at 1 kHz, below the smallest double from 100 kHz on.
    const std::vector<double> phase = phases_deg(network, {100, 1e3, 1e6, 2e6});
    CHECK(std::isfinite(phase[0]));
    CHECK(std::isfinite(phase[1]));
    CHECK(std::isnan(phase[2]));
    CHECK(std::isnan(phase[3]));
}

TEST_CASE("a lossless ladder of 60 sections turns up to 30 times on the way to its cutoff") {
    std::string parts;
    for (int k = 0; k < 60; ++k) {
        const std::string in = k == 0 ? "in" : fmt::format("n{}", k);
        const std::string out = k == 59 ? "out" : fmt::format("n{}", k + 1);
        parts += fmt::format(
            "L{0} = {{ inductor = \"1m\", pins = [\"{1}\", \"{2}\"] }}\n"
            "C{0} = {{ capacitor = \"10n\", pins = [\"{2}\", \"gnd\"] }}\n",
            k, in, out);
    }
    const test::Stage ladder{.parts = parts,
                             .capsule = "kind = \"resistive\"\nresistance = \"330R\"\n",
                             .output = R"(load = "330R")"};
    // From the load back to the source; 2e4 steps of half a degree or so.
    const auto gain = [](double f_hz) {
        const test::Z s = test::s_at(f_hz);
        test::Z volt = 1;
        test::Z ampere = 1.0 / 330;
        for (int k = 0; k < 60; ++k) {
            ampere += s * 10e-9 * volt;
            volt += s * 1e-3 * ampere;
        }
        return 1.0 / (volt + 330.0 * ampere);
    };
    double expected_deg = std::arg(gain(1000)) * 180 / test::pi;
    constexpr int steps = 20000;
    for (int k = 0; k < steps; ++k) {
        const test::Z step = gain(1000 + 97e3 * (k + 1) / steps) / gain(1000 + 97e3 * k / steps);
        expected_deg += std::arg(step) * 180 / test::pi;
    }
    REQUIRE(expected_deg < -8000);
    Network network = test::network_of(ladder);
    for (const std::vector<double>& grid : {std::vector<double>{98e3},
                                            {20, 98e3},
                                            {1e3, 98e3},
                                            {98e3, 120e3},
                                            {1, 1e3, 50e3, 60e3, 98e3}}) {
        const auto at =
            static_cast<std::size_t>(std::find(grid.begin(), grid.end(), 98e3) - grid.begin());
        CHECK_THAT(phases_deg(network, grid)[at], WithinAbs(expected_deg, 1e-6));
    }
}

}  // namespace lowhiss::phase_turns_test
