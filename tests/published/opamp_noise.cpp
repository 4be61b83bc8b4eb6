// Worked examples of op-amp noise.

#include <fmt/format.h>

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::opamp_noise_test {

// A loop gain of 1e6 at least, so that the formulas' ideal op-amp is met to 1e-6.
std::string model(double voltage_nv, double current_pa) {
    return fmt::format(
        "[opamp.part]\nopen_loop_gain = 1e10\ngain_bandwidth = 1e17\n"
        "voltage_noise = {}e-9\ncurrent_noise = {}e-12\n",
        voltage_nv, current_pa);
}

std::string resistive(double ohm) {
    return fmt::format("kind = \"resistive\"\nresistance = {}\n", ohm);
}

test::Stage non_inverting(double rf, double rg, double rs, double voltage_nv, double current_pa) {
    return {.parts = fmt::format(R"(
U1 = {{ opamp = "part", plus = "in", minus = "fb", out = "out" }}
RF = {{ resistor = {}, pins = ["fb", "out"] }}
RG = {{ resistor = {}, pins = ["fb", "gnd"] }}
)",
                                 rf, rg),
            .capsule = resistive(rs),
            .tables = model(voltage_nv, current_pa),
            .board = "temperature = \"25 degC\""};
}

test::Stage follower(double rs, double voltage_nv, double current_pa, double temperature_k) {
    return {.parts = R"(U1 = { opamp = "part", plus = "in", minus = "out", out = "out" })",
            .capsule = resistive(rs),
            .tables = model(voltage_nv, current_pa),
            .board = fmt::format("temperature = {}", temperature_k)};
}

/// At 1 kHz, in nV/rtHz.
double output_nv(const test::Stage& stage) {
    Network network = test::network_of(stage);
    return std::sqrt(test::output_noise_v2_hz(network, 1000)) * 1e9;
}

TEST_CASE("the non-inverting stage") {
    // OPA161x data sheet (TI SBOS450), figure 32; also THS4041 and ADA4841 data sheets:
    // Eo^2 = (1 + Rf/Rg)^2 [en^2 + (in Rs)^2 + 4kT Rs] + (in Rf)^2 + 4kT Rf + (Rf/Rg)^2 4kT Rg.
    struct Row {
        double rf, rg, rs, en, in;
    };
    for (const Row& r : {Row{10e3, 100, 150, 1.1, 1.7}, Row{100e3, 10e3, 10e3, 5, 0.7},
                         Row{22e3, 22, 1e6, 0.9, 2}}) {
        const double noise_gain = 1 + r.rf / r.rg;
        const auto thermal = [](double ohm) { return test::thermal_v2_hz(ohm, 298.15) * 1e18; };
        const double in_v = r.in * 1e-3;  // nV per ohm
        const double expected =
            noise_gain * noise_gain * (r.en * r.en + std::pow(in_v * r.rs, 2) + thermal(r.rs)) +
            std::pow(in_v * r.rf, 2) + thermal(r.rf) + std::pow(r.rf / r.rg, 2) * thermal(r.rg);
        const double ours = output_nv(non_inverting(r.rf, r.rg, r.rs, r.en, r.in));
        CHECK_THAT(ours, WithinRel(std::sqrt(expected), 1e-6));
    }
}

TEST_CASE("a gain-of-1000 stage of the LT1028 data sheet") {
    // LT1028 data sheet, "Total noise versus source resistance"; its numbers from memory: 100 ohm
    // source, 100 ohm and 100 kohm feedback, 0.85 nV and 1 pA: 2.04 nV at the input. It takes
    // resistor noise as 0.13 sqrt(R) where 0.1283 is exact at 25 degC, and both current noises as
    // one: 2 % together.
    const double input_nv = output_nv(non_inverting(100e3, 100, 100, 0.85, 1.0)) / 1001;
    CHECK_THAT(input_nv, WithinRel(2.04, 0.02));
    // With the sheet's own simplifications undone, exactly:
    const double req = 100 + 100.0 * 100e3 / 100.1e3;
    const double exact = std::sqrt(0.85 * 0.85 + test::thermal_v2_hz(req, 298.15) * 1e18 +
                                   0.1 * 0.1 + std::pow(0.1 / 1.001, 2));
    CHECK_THAT(input_nv, WithinRel(exact, 1e-6));
}

TEST_CASE("a cascade of two stages of 5, each 8.6 nV at its output, hisses 43.85 nV") {
    // Analog Devices EngineerZone, thread 14903, "Cascaded stages noise calc".
    const test::Stage cascade{.parts = R"(
U1 = { opamp = "part", plus = "in", minus = "a", out = "a" }
E1 = { voltage_gain = 5, control = ["a", "gnd"], pins = ["b", "gnd"] }
U2 = { opamp = "part", plus = "b", minus = "c", out = "c" }
E2 = { voltage_gain = 5, control = ["c", "gnd"], pins = ["out", "gnd"] }
)",
                              .tables = model(8.6 / 5, 0)};
    CHECK_THAT(output_nv(cascade), WithinAbs(43.85, 0.005));
    CHECK_THAT(output_nv(cascade), WithinAbs(43.8516, 5e-5));
}

TEST_CASE("the OP27 behind 0, 3 k and 300 k (from memory)") {
    // Analog Devices MT-047, from memory: 3 nV and 1 pA. The dominant part is its voltage noise,
    // then the source's 7 nV, then its current noise of 300 nV. Totals computed.
    CHECK_THAT(output_nv(follower(0, 3, 1, 298.15)), WithinAbs(3, 1e-5));
    CHECK_THAT(output_nv(follower(3e3, 3, 1, 298.15)), WithinAbs(8.21, 0.005));
    CHECK_THAT(output_nv(follower(300e3, 3, 1, 298.15)), WithinAbs(308.1, 0.05));
}

TEST_CASE("1 nV and 2 pA behind 150 ohm, as a microphone preamp IC") {
    // Figures common to data sheets of such parts; results computed by an independent script.
    const Measures warm = test::measures_of(follower(150, 1, 2, 293.15));
    CHECK_THAT(output_nv(follower(150, 1, 2, 293.15)), WithinAbs(1.8757, 5e-5));
    CHECK_THAT(warm.noise_figure_db, WithinAbs(1.610, 6e-4));
    // In 20 kHz; from 20 Hz it is 0.004 dB less.
    CHECK_THAT(warm.ein_dbu, WithinAbs(-129.31 - 0.004, 0.006));
    const Measures standard = test::measures_of(follower(150, 1, 2, 290));
    CHECK_THAT(standard.noise_figure_db, WithinAbs(1.625, 6e-4));
}

}  // namespace lowhiss::opamp_noise_test
