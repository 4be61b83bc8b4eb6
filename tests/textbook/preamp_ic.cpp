// The preamp IC of one gain resistor: with Zg between its gain pins,
// H = k0 (1 + 2Rf/Zg) / (1 + s (a + b (1 + 2Rf/Zg))), k0 = gain_offset, Rf = gain_resistance / 2k0.

#include <fmt/format.h>

#include "lowhiss/measure/corner.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::preamp_ic_test {

using test::Z;

const std::string model = R"(
[preamp_ic.part]
gain_resistance = "10k"
gain_offset = 1
bandwidth = [[1, "4 MHz"], [1000, "200 kHz"]]
)";

test::Stage amplifier(const std::string& leg, const std::string& keys = "",
                      const std::string& capsule = "") {
    return {.parts = leg + R"(
U1 = { preamp_ic = "part", plus = "in", minus = "gnd", gain_pins = ["g1", "g2"], out = "out", reference = "gnd" }
)",
            .capsule = capsule,
            .tables = model + keys};
}

std::string gain_resistor(double ohm) {
    return fmt::format("RG = {{ resistor = {}, pins = [\"g1\", \"g2\"] }}", ohm);
}

/// From the two rows of `bandwidth`: 1 / (2 pi f) = a + b gain.
Z expected(Z gain, double f_hz) {
    const double slow = 1 / (2 * test::pi * 200e3);
    const double fast = 1 / (2 * test::pi * 4e6);
    const double b = (slow - fast) / 999;
    const double a = fast - b;
    return gain / (1.0 + test::s_at(f_hz) * (a + b * gain));
}

TEST_CASE("gain and bandwidth follow the gain resistor") {
    for (const double ohm : {10.0, 100.0, 1e3, 10e3}) {
        Network network = test::network_of(amplifier(gain_resistor(ohm)));
        for (const double f_hz : {1.0, 1e3, 100e3, 10e6}) {
            CAPTURE(ohm, f_hz);
            CHECK_THAT(network.respond(f_hz).gain,
                       test::CloseTo(expected(1 + 10e3 / ohm, f_hz), test::close));
        }
    }
}

TEST_CASE("with nothing between the gain pins the gain is gain_offset") {
    CHECK_THAT(test::gain_of(amplifier(""), 1000), test::CloseTo(expected(1, 1000), test::close));
}

TEST_CASE("both rows of `bandwidth` are met") {
    // The corner counts from the gain at 1 kHz: f^2 = bandwidth^2 + 2 (1 kHz)^2.
    const auto corner_of = [](const test::Stage& stage) {
        Network network = test::network_of(stage);
        const double f_hz = corner_hz(network, network.respond(1000), Corner::high);
        return std::sqrt(f_hz * f_hz - 2e6);
    };
    CHECK_THAT(corner_of(amplifier("")), WithinRel(4e6, 1e-9));
    CHECK_THAT(corner_of(amplifier(gain_resistor(10e3 / 999))), WithinRel(200e3, 1e-9));
}

TEST_CASE("any impedance between the gain pins sets the gain, at each frequency") {
    Network network = test::network_of(amplifier(R"(
RG = { resistor = "22R", pins = ["g1", "x"] }
CG = { capacitor = "470u", pins = ["x", "g2"] }
)"));
    for (const double f_hz : {0.1, 20.0, 1e3, 300e3}) {
        CAPTURE(f_hz);
        const Z leg_ohm = 22.0 + 1.0 / (test::s_at(f_hz) * 470e-6);
        CHECK_THAT(network.respond(f_hz).gain,
                   test::CloseTo(expected(1.0 + 10e3 / leg_ohm, f_hz), test::close));
    }
}

TEST_CASE("the minus input turns the phase, the reference adds one to one") {
    test::Stage stage = amplifier(gain_resistor(100));
    const auto wired = [&](const std::string& plus, const std::string& minus,
                           const std::string& reference) {
        stage.parts = gain_resistor(100) +
                      fmt::format(
                          "\nU1 = {{ preamp_ic = \"part\", plus = \"{}\", minus = \"{}\", "
                          "gain_pins = [\"g1\", \"g2\"], out = \"out\", "
                          "reference = \"{}\" }}\n",
                          plus, minus, reference);
        return test::gain_of(stage, 1000);
    };
    CHECK_THAT(wired("gnd", "in", "gnd"), test::CloseTo(-expected(101, 1000), test::close));
    CHECK_THAT(wired("gnd", "gnd", "in"), test::CloseTo(1, test::close));
}

TEST_CASE("gain_offset scales everything, the formula's Rf and the bandwidths with it") {
    test::Stage stage = amplifier(gain_resistor(1e3));
    stage.tables = "[preamp_ic.part]\ngain_resistance = \"50k\"\ngain_offset = 5\n";
    CHECK_THAT(test::gain_of(stage, 1000), test::CloseTo(5 + 50e3 / 1e3, test::close));

    // A gain of 55 lies between the rows: 1 / (2 pi f) is linear in the gain.
    stage.tables += "bandwidth = [[5, \"6 MHz\"], [105, \"1 MHz\"]]\n";
    const double time_s = (1 / 6e6 + 1 / 1e6) / 2 / (2 * test::pi);
    for (const double f_hz : {1e3, 1e6, 30e6}) {
        CAPTURE(f_hz);
        CHECK_THAT(test::gain_of(stage, f_hz),
                   test::CloseTo(55.0 / (1.0 + test::s_at(f_hz) * time_s), test::close));
    }
}

TEST_CASE("common mode comes out as gain_offset v_cm / CMRR, at every gain the same") {
    for (const double ohm : {10.0, 1e4}) {
        CAPTURE(ohm);
        test::Stage stage = amplifier("", "cmrr = \"80 dB\"\ncmrr_corner = \"2 kHz\"\n");
        stage.parts = gain_resistor(ohm) + R"(
U1 = { preamp_ic = "part", plus = "in", minus = "in", gain_pins = ["g1", "g2"], out = "out", reference = "gnd" }
)";
        // The two halves cancel to 1e-4 of what each of them, at a gain of 1, passes.
        CHECK_THAT(test::gain_of(stage, 1000), test::CloseTo(1e-4 * Z(1, 0.5), 1e5 * test::close));
    }
}

TEST_CASE("hiss: input noise times the gain, and output noise") {
    const std::string noise =
        "input_voltage_noise = \"1.2 nV/rtHz\"\n"
        "input_voltage_noise_corner = \"40 Hz\"\n"
        "output_voltage_noise = \"80 nV/rtHz\"\n";
    for (const double ohm : {10.0, 330.0, 10e3}) {
        test::Stage stage = amplifier(gain_resistor(ohm), noise);
        Network network = test::network_of(stage);
        for (const double f_hz : {20.0, 1e3, 20e3}) {
            CAPTURE(ohm, f_hz);
            const double gain2 = std::norm(expected(1 + 10e3 / ohm, f_hz));
            // The gain resistor's own noise voltage is in series with it and has k / (k + Rg) of
            // the gain.
            const double gain_resistor_v2 =
                std::norm(expected(1 + 10e3 / ohm, f_hz) * 10e3 / (10e3 + ohm)) *
                test::thermal_v2_hz(ohm);
            const double total = gain2 * 1.44e-18 * (1 + 40 / f_hz) + 6.4e-15 + gain_resistor_v2;
            CHECK_THAT(test::output_noise_v2_hz(network, f_hz), WithinRel(total, test::close));
        }
    }
}

TEST_CASE("current noise acts on the source's impedance at each input") {
    Network network = test::network_of(amplifier(
        gain_resistor(100), "current_noise = \"2 pA/rtHz\"\ncurrent_noise_corner = \"100 Hz\"\n",
        "kind = \"electret\"\noutput_resistance = \"2k2\"\n"));
    const Response r = network.respond(400);
    const auto& groups = network.circuit().noise_groups;
    const std::vector<double> power = r.noise_v2_hz;
    for (std::size_t k = 0; k < groups.size(); ++k) {
        if (groups[k].mechanism != Mechanism::current_noise_plus) continue;
        const double volt = 2e-12 * 2200;
        CHECK_THAT(power[k], WithinRel(std::norm(r.gain) * volt * volt * 1.25, test::close));
        return;
    }
    FAIL("no current noise at the plus input");
}

}  // namespace lowhiss::preamp_ic_test
