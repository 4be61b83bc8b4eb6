// A transformer is two coupled coils: V1 = (R1 + sL1) I1 + sM I2, V2 = sM I1 + (R2 + sL2) I2.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::transformer_test {

using test::Z;

struct Windings {
    double n, l1, k, r1, r2;
};

/// Impedance of the primary with a load on the secondary.
Z primary_ohm(const Windings& w, Z load_ohm, Z s) {
    const Z mutual = s * w.k * w.n * w.l1;
    return w.r1 + s * w.l1 - mutual * mutual / (w.r2 + s * w.n * w.n * w.l1 + load_ohm);
}

/// Voltage across the load over the current into the primary.
Z transfer_ohm(const Windings& w, Z load_ohm, Z s) {
    return load_ohm * s * w.k * w.n * w.l1 / (w.r2 + s * w.n * w.n * w.l1 + load_ohm);
}

constexpr Windings real_one{10, 8, 0.999, 40, 900};
const test::Stage real{.parts = R"(
T1 = { transformer = { ratio = 10, primary_inductance = "8", coupling = 0.999, primary_resistance = "40R", secondary_resistance = "900R" }, primary = ["in", "gnd"], secondary = ["out", "gnd"] }
RL = { resistor = "68k", pins = ["out", "gnd"] }
)",
                       .capsule = "kind = \"resistive\"\nresistance = \"200R\"\n"};

test::Stage perfect(const std::string& load) {
    return {.parts = R"(
T1 = { transformer = { ratio = 7, primary_inductance = "2", coupling = 1 }, primary = ["in", "gnd"], secondary = ["out", "gnd"] }
RL = { resistor = ")" +
                     load + R"(", pins = ["out", "gnd"] }
)"};
}

TEST_CASE("a real transformer is its two equations") {
    Network network = test::network_of(real);
    for (const double f_hz : {0.1, 5.0, 20.0, 1e3, 20e3, 1e6}) {
        CAPTURE(f_hz);
        const Z s = test::s_at(f_hz);
        const Z primary = primary_ohm(real_one, 68e3, s);
        const Response r = network.respond(f_hz);
        // 1 - k^2 = 0.002 is left of the two inductances at high frequencies.
        const double tolerance = 1000 * test::close;
        CHECK_THAT(r.gain,
                   test::CloseTo(transfer_ohm(real_one, 68e3, s) / (200.0 + primary), tolerance));
        CHECK_THAT(r.input_impedance_ohm, test::CloseTo(primary, tolerance));
    }
}

TEST_CASE("a perfect transformer steps voltage up by its ratio, impedance down by its square") {
    for (const std::string load : {"68k", "10R"}) {
        Network network = test::network_of(perfect(load));
        const double load_ohm = load == "68k" ? 68e3 : 10;
        for (const double f_hz : {1.0, 1e3, 100e3}) {
            CAPTURE(load, f_hz);
            const Response r = network.respond(f_hz);
            const Z coil_ohm = test::s_at(f_hz) * 2.0;
            CHECK_THAT(r.gain, test::CloseTo(7.0, test::close));
            const Z expected = test::parallel(load_ohm / 49, coil_ohm);
            CHECK_THAT(r.input_impedance_ohm, test::CloseTo(expected, test::close));
        }
    }
}

TEST_CASE("a perfect 1:10 transformer of 1,000 H is its ratio up to 1 GHz") {
    const test::Stage stage{.parts = R"(
T1 = { transformer = { ratio = 10, primary_inductance = "1000", coupling = 1 }, primary = ["in", "gnd"], secondary = ["out", "gnd"] }
RL = { resistor = "150k", pins = ["out", "gnd"] }
)",
                            .capsule = "kind = \"resistive\"\nresistance = \"150R\"\n"};
    Network network = test::network_of(stage);
    for (const double f_hz : {1e-3, 1.0, 1e3, 1e6, 1e9}) {
        CAPTURE(f_hz);
        // The load is 1500 ohm at the primary, beside the coil.
        const Z primary = test::parallel(1500.0, test::s_at(f_hz) * 1000.0);
        const Response r = network.respond(f_hz);
        CHECK_THAT(r.gain, test::CloseTo(10.0 * primary / (150.0 + primary), test::close));
        CHECK_THAT(r.input_impedance_ohm, test::CloseTo(primary, test::close));
        // Noise at the output: 4kT Re of 15 kohm beside the load beside the coil.
        const Z out_ohm =
            test::parallel(test::parallel(15e3, 150e3), test::s_at(f_hz) * 1000.0 * 100.0);
        CHECK_THAT(test::output_noise_v2_hz(network, f_hz),
                   WithinRel(test::thermal_v2_hz(out_ohm.real()), test::close));
    }
    CHECK(network.account().fallbacks == 0);
    CHECK(std::isnan(test::measures_of(stage).high_corner_hz));
}

TEST_CASE("open secondary: k times the ratio; shorted secondary: leakage (1 - k^2) L1") {
    const std::string coils = R"(
T1 = { transformer = { ratio = 4, primary_inductance = "0.5", coupling = 0.98 }, primary = ["in", "gnd"], secondary = ["out", "gnd"] }
)";
    CHECK_THAT(test::gain_of({.parts = coils}, 1000), test::CloseTo(0.98 * 4, test::close));

    const std::string shorted = coils + R"(SB = { link = "closed", pins = ["out", "gnd"] })";
    Network network = test::network_of({.parts = shorted});
    const Z leakage = test::s_at(1000) * 0.5 * (1 - 0.98 * 0.98);
    CHECK_THAT(network.respond(1000).input_impedance_ohm,
               test::CloseTo(leakage, 100 * test::close));
}

TEST_CASE("the dots are on the first pins: a turned winding turns the phase") {
    const test::Stage turned{.parts = R"(
T1 = { transformer = { ratio = 4, primary_inductance = "0.5", coupling = 0.98 }, primary = ["in", "gnd"], secondary = ["gnd", "out"] }
)"};
    CHECK_THAT(test::gain_of(turned, 1000), test::CloseTo(-0.98 * 4, test::close));
}

TEST_CASE("winding resistances hiss, and the source's hiss comes through the turns") {
    Network network = test::network_of(real);
    for (const double f_hz : {20.0, 1e3, 20e3}) {
        CAPTURE(f_hz);
        // Looked into from the secondary: the same transformer the other way round.
        const Windings back{1 / real_one.n, real_one.n * real_one.n * real_one.l1, real_one.k,
                            real_one.r2, real_one.r1};
        const Z out_ohm = test::parallel(primary_ohm(back, 200.0, test::s_at(f_hz)), 68e3);
        CHECK_THAT(test::output_noise_v2_hz(network, f_hz),
                   WithinRel(test::thermal_v2_hz(out_ohm.real()), 1000 * test::close));
    }
}

}  // namespace lowhiss::transformer_test
