// A matched attenuator at the standard temperature has a noise figure equal to its loss (textbook;
// Friis 1944). The load is noiseless, as noise figures have it.

#include <fmt/format.h>

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::attenuator_test {

Measures behind(const std::string& parts) {
    return test::measures_of({.parts = parts,
                              .capsule = "kind = \"resistive\"\nresistance = \"600R\"\n",
                              .output = R"(load = "600R")",
                              .board = "temperature = 290"});
}

// The accuracy of the integrals, 1e-7 of a power.
constexpr double close_db = 1e-6;

TEST_CASE("a matched T attenuator: noise figure is loss") {
    for (const double loss_db : {0.5, 3.0, 10.0, 40.0}) {
        CAPTURE(loss_db);
        const double k = ratio_from_db(loss_db);
        const Measures m = behind(fmt::format(R"(
R1 = {{ resistor = {0}, pins = ["in", "a"] }}
R2 = {{ resistor = {1}, pins = ["a", "gnd"] }}
R3 = {{ resistor = {0}, pins = ["a", "out"] }}
)",
                                              600 * (k - 1) / (k + 1), 1200 * k / (k * k - 1)));
        CHECK_THAT(m.noise_figure_db, WithinAbs(loss_db, close_db));
        // The gain is from the electromotive force: half of it is gone in the match alone.
        CHECK_THAT(m.gain_1khz_db, WithinAbs(db_from_ratio(0.5) - loss_db, close_db));
    }
}

TEST_CASE("a matched pi attenuator: noise figure is loss") {
    const double k = ratio_from_db(20);
    const Measures m = behind(fmt::format(R"(
R1 = {{ resistor = {0}, pins = ["in", "gnd"] }}
R2 = {{ resistor = {1}, pins = ["in", "out"] }}
R3 = {{ resistor = {0}, pins = ["out", "gnd"] }}
)",
                                          600 * (k + 1) / (k - 1), 300 * (k * k - 1) / k));
    CHECK_THAT(m.noise_figure_db, WithinAbs(20, close_db));
}

TEST_CASE("a lossless match has a noise figure of nothing") {
    // A perfect transformer of 1:2 into a load of 2400 ohm; only the source is noisy.
    const Measures m =
        test::measures_of({.parts = R"(
T1 = { transformer = { ratio = 2, primary_inductance = "500", coupling = 1 }, primary = ["in", "gnd"], secondary = ["out", "gnd"] }
)",
                           .capsule = "kind = \"resistive\"\nresistance = \"600R\"\n",
                           .output = R"(load = "2k4")",
                           .board = "temperature = 290"});
    CHECK_THAT(m.noise_figure_db, WithinAbs(0, close_db));
    CHECK_THAT(m.gain_1khz_db, WithinAbs(0, 1e-4));  // 500 H leaves 1e-8 of the power at 1 kHz
}

}  // namespace lowhiss::attenuator_test
