// Corners are found by root search, not read off a grid, and are unset if there is none.

#include "lowhiss/measure/corner.hpp"
#include "lowhiss/quantity/constants.hpp"

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::corner_test {

struct Corners {
    double low, high;
};

Corners corners_of(const test::Stage& stage) {
    Network network = test::network_of(stage);
    const Response reference = network.respond(reference_hz);
    return {corner_hz(network, reference, Corner::low),
            corner_hz(network, reference, Corner::high)};
}

/// A high pass and a low pass, buffered from each other.
test::Stage band(double low_hz, double high_hz) {
    return {.parts = fmt::format(R"(
C1 = {{ capacitor = {}, pins = ["in", "a"] }}
R1 = {{ resistor = "1k", pins = ["a", "gnd"] }}
E1 = {{ voltage_gain = 31.6, control = ["a", "gnd"], pins = ["b", "gnd"] }}
R2 = {{ resistor = "1k", pins = ["b", "out"] }}
C2 = {{ capacitor = {}, pins = ["out", "gnd"] }}
)",
                                 1 / (2 * test::pi * 1000 * low_hz),
                                 1 / (2 * test::pi * 1000 * high_hz))};
}

/// |H|^2 of both at f over that at 1 kHz.
double power(double f_hz, double low_hz, double high_hz) {
    const auto at = [&](double f) {
        return 1 / ((1 + std::pow(low_hz / f, 2)) * (1 + std::pow(f / high_hz, 2)));
    };
    return at(f_hz) / at(1000);
}

TEST_CASE("corners halve the power that there is at 1 kHz, to 1e-9") {
    for (const auto& [low_hz, high_hz] : {std::pair(3.3, 47e3), std::pair(150.0, 6e3),
                                          std::pair(0.02, 3e7), std::pair(900.0, 1.1e3)}) {
        CAPTURE(low_hz, high_hz);
        const Corners found = corners_of(band(low_hz, high_hz));
        CHECK(found.low < 1000);
        CHECK(found.high > 1000);
        CHECK_THAT(power(found.low, low_hz, high_hz), WithinAbs(0.5, 1e-9));
        CHECK_THAT(power(found.high, low_hz, high_hz), WithinAbs(0.5, 1e-9));
    }
}

TEST_CASE("a network without a corner has none") {
    const Corners divider = corners_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
)"});
    CHECK(std::isnan(divider.low));
    CHECK(std::isnan(divider.high));

    const Corners low_pass = corners_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
C1 = { capacitor = "1n", pins = ["out", "gnd"] }
)"});
    CHECK(std::isnan(low_pass.low));
    CHECK(std::isfinite(low_pass.high));
}

TEST_CASE("corners are searched from 1 mHz to 1 GHz") {
    const Corners inside = corners_of(band(1.02e-3, 0.98e9));
    CHECK_THAT(inside.low, WithinRel(1.02e-3, 1e-6));
    CHECK_THAT(inside.high, WithinRel(0.98e9, 1e-6));
    const Corners outside = corners_of(band(0.98e-3, 1.02e9));
    CHECK(std::isnan(outside.low));
    CHECK(std::isnan(outside.high));
}

TEST_CASE("the high corner is the first one above 1 kHz, even if the gain comes back") {
    // A twin-T at 15.9 kHz: |H|^2 = t^2 / (1 + t^2), t = (1 - u^2) / 4u, u = f / f0.
    const Corners found = corners_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "r"] }
R2 = { resistor = "1k", pins = ["r", "out"] }
C3 = { capacitor = "20n", pins = ["r", "gnd"] }
C1 = { capacitor = "10n", pins = ["in", "c"] }
C2 = { capacitor = "10n", pins = ["c", "out"] }
R3 = { resistor = "500R", pins = ["c", "gnd"] }
)"});
    const double f0 = 1 / (2 * test::pi * 1e3 * 10e-9);
    const double u1 = 1000 / f0;
    const double t1 = (1 - u1 * u1) / (4 * u1);
    const double half = t1 * t1 / (1 + t1 * t1) / 2;
    const double t = std::sqrt(half / (1 - half));
    CHECK_THAT(found.high, WithinRel(f0 * (std::sqrt(4 * t * t + 1) - 2 * t), 1e-9));
    CHECK(std::isnan(found.low));
}

TEST_CASE("a plot's grid does not move a corner") {
    const Corners found = corners_of(band(3.3, 47e3));
    for (const auto& grid : {std::vector<double>{}, {1000}, {1, 10, 100}, {40e3, 50e3}}) {
        SweepRequest request;
        request.frequency_hz = grid;
        const Measures m = test::solve(test::board_of(band(3.3, 47e3)), 0, request).measures;
        CHECK(m.low_corner_hz == found.low);
        CHECK(m.high_corner_hz == found.high);
    }
}

}  // namespace lowhiss::corner_test
