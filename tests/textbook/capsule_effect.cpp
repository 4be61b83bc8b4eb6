// The effect of the capsule's impedance on gain and noise: gain with it over gain with an ideal
// source.

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::capsule_effect_test {

using test::Z;

// 180 ohm + 2.2 mH into 1k5 parallel 10 nF, then a stage with a noise of 4 nV/rtHz.
const std::string input = R"(
R1 = { resistor = "1k5", pins = ["in", "gnd"] }
C1 = { capacitor = "10n", pins = ["in", "gnd"] }
U1 = { opamp = "part", plus = "in", minus = "out", out = "out" }
)";
const std::string model = R"(
[opamp.part]
open_loop_gain = 1e6
gain_bandwidth = "10 MHz"
voltage_noise = "4 nV/rtHz"
)";
const test::Stage stage{
    .parts = input,
    .capsule = "kind = \"dynamic\"\ncoil_resistance = \"180R\"\ncoil_inductance = \"2m2\"\n",
    .tables = model};

Z capsule_ohm(double f_hz) {
    return 180.0 + test::s_at(f_hz) * 2.2e-3;
}

Z input_ohm(double f_hz) {
    return test::parallel(1500.0, 1.0 / (test::s_at(f_hz) * 10e-9));
}

double effect_db(double f_hz) {
    return db_from_ratio(std::abs(input_ohm(f_hz) / (input_ohm(f_hz) + capsule_ohm(f_hz))));
}

// 1e-11 of a ratio, in decibels.
constexpr double close_db = 1e-10;

TEST_CASE("the capsule effect is the divider of capsule and input impedance") {
    SweepRequest request;
    request.frequency_hz = {20, 440, 1000, 20e3, 33e3, 200e3};
    const KnobResult result = test::solve(test::board_of(stage), 0, request);
    for (std::size_t k = 0; k < request.frequency_hz.size(); ++k) {
        CAPTURE(request.frequency_hz[k]);
        CHECK_THAT(result.capsule_effect_db[k],
                   WithinAbs(effect_db(request.frequency_hz[k]), close_db));
    }
    CHECK_THAT(result.measures.capsule_effect_20hz_db, WithinAbs(effect_db(20), close_db));
    CHECK_THAT(result.measures.capsule_effect_1khz_db, WithinAbs(effect_db(1000), close_db));
    CHECK_THAT(result.measures.capsule_effect_20khz_db, WithinAbs(effect_db(20000), close_db));
}

TEST_CASE("the noise rise is the hiss of capsule and input resistor over that of the stage") {
    // A resistive capsule keeps it white: en^2 + 4kT (200 || 1k5) over en^2.
    const test::Stage white{.parts = R"(
R1 = { resistor = "1k5", pins = ["in", "gnd"] }
U1 = { opamp = "part", plus = "in", minus = "out", out = "out" }
)",
                            .capsule = "kind = \"resistive\"\nresistance = \"200R\"\n",
                            .tables = model};
    const double with_v2 = 16e-18 + test::thermal_v2_hz(200.0 * 1500.0 / 1700.0);
    // Integrals are accurate to 1e-7; 20 kHz is 500 times below the stage's own corner.
    CHECK_THAT(test::measures_of(white).capsule_noise_rise_db,
               WithinAbs(db_from_power_ratio(with_v2 / 16e-18), 1e-6));
}

TEST_CASE("without a capsule there is no effect") {
    const Measures m = test::measures_of({.parts = input, .tables = model});
    CHECK(m.capsule_effect_1khz_db == 0);
    CHECK(m.capsule_noise_rise_db == 0);
}

TEST_CASE("an electret's own hiss is not its impedance's doing") {
    const test::Stage electret{.parts = R"(
R1 = { resistor = "2k2", pins = ["in", "out"] }
)",
                               .capsule =
                                   "kind = \"electret\"\noutput_resistance = \"2k2\"\n"
                                   "self_noise = \"30 nV/rtHz\"\n"};
    const Measures m = test::measures_of(electret);
    CHECK_THAT(m.capsule_effect_1khz_db, WithinAbs(0, close_db));
    CHECK_THAT(m.capsule_noise_rise_db, WithinAbs(0, close_db));
}

TEST_CASE("a stage that is silent behind an ideal source has no rise to name") {
    // The source holds the inverting input: of R1's noise only rounding reaches the output.
    const test::Stage virtual_ground{
        .parts = R"(
U1 = { opamp = "part", plus = "gnd", minus = "in", out = "out" }
R1 = { resistor = "75k", pins = ["in", "out"] }
)",
        .capsule = "kind = \"resistive\"\nresistance = \"2k2\"\n",
        .tables = "[opamp.part]\nopen_loop_gain = 1e9\ngain_bandwidth = 1e15\n"};
    const Measures m = test::measures_of(virtual_ground);
    CHECK(std::isnan(m.capsule_noise_rise_db));
    CHECK(std::isfinite(m.ein_dbu));
}

}  // namespace lowhiss::capsule_effect_test
