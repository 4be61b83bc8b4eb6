// Phase that turns many times, known in closed form: it is unwrapped rightly on any grid.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss {
namespace {

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

void check_grid(const std::vector<double>& frequency_hz) {
    SweepRequest request;
    request.frequency_hz = frequency_hz;
    request.rolloff = false;
    const KnobResult result = test::solve(test::board_of(all_passes()), 0, request);
    for (std::size_t k = 0; k < frequency_hz.size(); ++k) {
        CAPTURE(frequency_hz[k]);
        // 24 turns of rounding; a lost turn would be 360.
        CHECK(std::abs(result.phase_deg[k] - expected_deg(frequency_hz[k])) < 1e-8);
    }
}

}  // namespace

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

TEST_CASE("a ladder of 60 sections delays, and turns, as its image parameters say") {
    // A constant-k ladder between its image impedances would turn by 2 asin(w / wc) a section; far
    // below wc = 2 / sqrt(LC) its terminations of sqrt(L/C) are near enough to that to count turns.
    std::string parts;
    for (int k = 0; k < 60; ++k) {
        const std::string in = k == 0 ? "in" : fmt::format("n{}", k);
        const std::string out = k == 59 ? "out" : fmt::format("n{}", k + 1);
        parts += fmt::format("L{0} = {{ inductor = \"1m\", pins = [\"{1}\", \"{2}\"] }}\n"
                             "C{0} = {{ capacitor = {3}, pins = [\"{2}\", \"gnd\"] }}\n",
                             k, in, out, k == 59 ? "\"5n\"" : "\"10n\"");
    }
    // Half an inductor first: T-ended at the source, which keeps the ladder's mid-shunt end.
    const test::Stage ladder{.parts = parts,
                             .capsule = "kind = \"resistive\"\nresistance = 316.22776601683796\n",
                             .output = "load = 316.22776601683796"};
    SweepRequest request;
    request.frequency_hz = {1000, 25e3};
    request.rolloff = false;
    const KnobResult result = test::solve(test::board_of(ladder), 0, request);
    const auto turn_deg = [](double f_hz) {
        return 60 * 2 * std::asin(2 * test::pi * f_hz * std::sqrt(1e-11) / 2) * 180 / test::pi;
    };
    const double turned = result.phase_deg[1] - result.phase_deg[0];
    // 4.8 turns; the terminations' mismatch of a few percent ripples by some degrees.
    CHECK(std::abs(turned + turn_deg(25e3) - turn_deg(1000)) < 20);
}

}  // namespace lowhiss
