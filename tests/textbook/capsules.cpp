// Each kind of capsule: its impedance from the divider with a load, its noise across the load.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::capsules_test {

using test::Z;

constexpr double frequencies[] = {1.0, 20.0, 147.0, 1e3, 3.2e3, 20e3, 1e6};

/// The board is a noiseless load alone; `z` is the capsule's impedance by its formula and `self_v2`
/// its noise beyond 4kT Re z.
template <class Impedance, class Noise>
void check(const std::string& capsule, const std::string& load, double load_ohm, Impedance z,
           Noise noise_v2_hz) {
    Network network =
        test::network_of({.parts = R"(SB1 = { link = "closed", pins = ["in", "out"] })",
                          .capsule = capsule,
                          .output = "load = \"" + load + "\""});
    for (const double f_hz : frequencies) {
        CAPTURE(f_hz);
        const Z ohm = z(test::s_at(f_hz));
        const Z share = load_ohm / (load_ohm + ohm);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(share, test::close));
        const double expected = noise_v2_hz(f_hz, ohm) * std::norm(share);
        CHECK_THAT(test::output_noise_v2_hz(network, f_hz),
                   WithinAbs(expected, 100 * test::close * expected));
    }
}

double thermal(double, Z ohm) {
    return test::thermal_v2_hz(ohm.real());
}

TEST_CASE("a resistive capsule is its resistance") {
    check(
        "kind = \"resistive\"\nresistance = \"150R\"", "1k", 1000, [](Z) { return Z(150); },
        thermal);
}

TEST_CASE("a dynamic capsule is R + sL + sum of R_m / (1 + Q (s/w0 + w0/s))") {
    const auto resonance = [](Z s, double f_hz, double q, double ohm) {
        const double w0 = 2 * test::pi * f_hz;
        return ohm / (1.0 + q * (s / w0 + w0 / s));
    };
    check(R"(kind = "dynamic"
coil_resistance = "180R"
coil_inductance = "500u"
resonances = [{ frequency = "147 Hz", q = 2.3, resistance = "110R" }, { frequency = "3.2 kHz", q = 4, resistance = "45R" }]
)",
          "1k2", 1200,
          [&](Z s) {
              return 180.0 + s * 500e-6 + resonance(s, 147, 2.3, 110) + resonance(s, 3200, 4, 45);
          },
          thermal);
}

TEST_CASE("a condenser capsule is its capacitance, silent unless it leaks") {
    check(
        "kind = \"condenser\"\ncapacitance = \"56p\"", "1G", 1e9,
        [](Z s) { return 1.0 / (s * 56e-12); }, [](double, Z) { return 0.0; });
    check(
        "kind = \"condenser\"\ncapacitance = \"56p\"\nleakage_resistance = \"20G\"", "1G", 1e9,
        [](Z s) { return 1.0 / (s * 56e-12 + 1 / 20e9); }, thermal);
}

TEST_CASE("an electret is a silent resistance with its self noise in series") {
    check(
        "kind = \"electret\"\noutput_resistance = \"2k2\"\nself_noise = \"9 nV/rtHz\"\n"
        "self_noise_corner = \"300 Hz\"",
        "4k7", 4700, [](Z) { return Z(2200); },
        [](double f_hz, Z) { return 81e-18 * (1 + 300 / f_hz); });
}

}  // namespace lowhiss::capsules_test
