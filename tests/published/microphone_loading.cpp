// The loss of microphones into their loads.

#include "lowhiss/measure/corner.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::microphone_loading_test {

test::Stage loaded(const std::string& capsule, const std::string& parts) {
    return {.parts = parts, .capsule = capsule, .tap = "in"};
}

double effect_db(const std::string& ohm, const std::string& load) {
    return test::measures_of(
               loaded("kind = \"resistive\"\nresistance = \"" + ohm + "\"\n",
                      "R1 = { resistor = \"" + load + "\", pins = [\"in\", \"gnd\"] }\n"))
        .capsule_effect_1khz_db;
}

// IEC 60268-4 rates microphones into five times their impedance where nothing else is said (found
// informally; clause not seen). The decibels are computed, to four decimals.
TEST_CASE("loading loss of 200 ohm into 1 kohm and of 150 ohm into 1.5 kohm") {
    CHECK_THAT(effect_db("200R", "1k"), WithinAbs(-1.5836, 5e-5));
    CHECK_THAT(effect_db("250R", "1.25k"), WithinAbs(-1.5836, 5e-5));
    CHECK_THAT(effect_db("150R", "1.5k"), WithinAbs(-0.8279, 5e-5));
}

// IEC 61938, P48: 6.8 kohm to each leg; computed: two of 6.81 kohm are 13.62 kohm between the legs.
TEST_CASE("phantom feed resistors load a balanced microphone with twice one of them") {
    const std::string text = R"(
[parts]
R1 = { resistor = "6k81", pins = ["hot", "p48"] }
R2 = { resistor = "6k81", pins = ["cold", "p48"] }
V1 = { voltage_source = "48 V", pins = ["p48", "gnd"] }
[input]
plus = "hot"
minus = "cold"
[output]
plus = "hot"
minus = "cold"
)";
    CHECK_THAT(test::network_from_text(text).respond(1000).input_impedance_ohm,
               test::CloseTo(13620.0, test::close));
}

TEST_CASE("the gate's 5 pF takes 0.8279 dB of a 50 pF capsule") {
    // From memory of condenser microphone practice; the decibels computed.
    const Measures m = test::measures_of(loaded("kind = \"condenser\"\ncapacitance = \"50p\"\n", R"(
C1 = { capacitor = "5p", pins = ["in", "gnd"] }
R1 = { resistor = "1000G", pins = ["in", "gnd"] }
)"));
    // 1 Tohm keeps the corner 6 mHz away from 1 kHz.
    CHECK_THAT(m.gain_1khz_db, WithinAbs(-0.8279, 5e-5));
}

TEST_CASE("bias resistors and capsules: corners of 3.18 and about 5 Hz") {
    // 50 pF with 1 Gohm: computed. 20 pF with 1.6 Gohm: "5 Hz", headphonetestlab.co.uk, additional
    // content on microphone noise; 4.974 computed.
    const auto corner = [](const std::string& farad, const std::string& ohm) {
        return test::measures_of(
                   loaded("kind = \"condenser\"\ncapacitance = \"" + farad + "\"\n",
                          "R1 = { resistor = \"" + ohm + "\", pins = [\"in\", \"gnd\"] }\n"))
            .low_corner_hz;
    };
    // At 1 kHz the corner still takes 1e-5 of the gain that it counts from.
    CHECK_THAT(corner("50p", "1G"), WithinAbs(3.1831, 1e-4));
    CHECK_THAT(corner("20p", "1.6G"), WithinAbs(4.974, 6e-4));
    CHECK_THAT(corner("20p", "1.6G"), WithinAbs(5, 0.05));
}

TEST_CASE("an electret capsule into a transimpedance stage: 0.606 V at 94 dB SPL") {
    // TI TIDU765: 0.606 V rms; its capsule -35 dBV/Pa into 2.2 kohm, feedback 75 kohm and 27 pF
    // from memory. The corner of 78.6 kHz is computed.
    const test::Stage stage{
        .parts = R"(
U1 = { opamp = "ideal", plus = "gnd", minus = "in", out = "out" }
RF = { resistor = "75k", pins = ["in", "out"] }
CF = { capacitor = "27p", pins = ["in", "out"] }
)",
        .capsule = "kind = \"electret\"\noutput_resistance = \"2k2\"\nself_noise = \"0\"\n",
        .tables = "[opamp.ideal]\nopen_loop_gain = 1e9\ngain_bandwidth = 1e15\n"};
    const double gain = std::abs(test::gain_of(stage, 1000));
    CHECK_THAT(gain * ratio_from_db(-35), WithinAbs(0.606, 5e-4));
    // 1 / (2 pi Rf Cf), counted from the gain at 1 kHz.
    Network network = test::network_of(stage);
    const double corner = corner_hz(network, network.respond(1000), Corner::high);
    CHECK_THAT(std::sqrt(corner * corner - 2e6), WithinAbs(78595, 1));
}

}  // namespace lowhiss::microphone_loading_test
