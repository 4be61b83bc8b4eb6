// The impedance that the capsule sees, and the gain from its terminals.

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::input_impedance_test {

using test::Z;

const test::Stage stage{.parts = R"(
R1 = { resistor = "3k3", pins = ["in", "gnd"] }
C1 = { capacitor = "22u", pins = ["in", "a"] }
R2 = { resistor = "10k", pins = ["a", "gnd"] }
C2 = { capacitor = "470p", pins = ["a", "gnd"] }
E1 = { voltage_gain = 40, control = ["a", "gnd"], pins = ["out", "gnd"] }
)",
                        .capsule = "kind = \"resistive\"\nresistance = \"200R\"\n"};

Z behind_c1(Z s) {
    return test::parallel(10e3, 1.0 / (s * 470e-12));
}

Z input_ohm(Z s) {
    return test::parallel(3300.0, 1.0 / (s * 22e-6) + behind_c1(s));
}

TEST_CASE("input impedance is that of the parts on the input, the capsule left out") {
    Network network = test::network_of(stage);
    for (const double f_hz : {0.01, 1.0, 20.0, 1e3, 20e3, 5e6}) {
        CAPTURE(f_hz);
        CHECK_THAT(network.respond(f_hz).input_impedance_ohm,
                   test::CloseTo(input_ohm(test::s_at(f_hz)), test::close));
    }
}

TEST_CASE("input impedance does not depend on the capsule") {
    for (const std::string capsule : {"", "kind = \"resistive\"\nresistance = \"1M\"\n",
                                      "kind = \"condenser\"\ncapacitance = \"60p\"\n"}) {
        test::Stage other = stage;
        other.capsule = capsule;
        Network network = test::network_of(other);
        // Behind 1 Mohm or 60 pF at 20 Hz the terminals see 1e-3 and 1e-5 of the source.
        CHECK_THAT(network.respond(20).input_impedance_ohm,
                   test::CloseTo(input_ohm(test::s_at(20)), 100 * test::close));
    }
}

TEST_CASE("gain from the terminals leaves out what the capsule's impedance takes") {
    SweepRequest request;
    request.frequency_hz = {1, 20, 1000, 200e3};
    const KnobResult result = test::solve(test::board_of(stage), 0, request);
    for (std::size_t k = 0; k < request.frequency_hz.size(); ++k) {
        const Z s = test::s_at(request.frequency_hz[k]);
        const double from_terminals =
            db_from_ratio(std::abs(40.0 * behind_c1(s) / (behind_c1(s) + 1.0 / (s * 22e-6))));
        const double taken = db_from_ratio(std::abs(input_ohm(s) / (input_ohm(s) + 200.0)));
        CAPTURE(request.frequency_hz[k]);
        CHECK_THAT(result.gain_from_terminals_db[k], WithinAbs(from_terminals, 1e-10));
        CHECK_THAT(result.gain_db[k], WithinAbs(from_terminals + taken, 1e-10));
    }
}

TEST_CASE("an input that draws no current has no impedance to name") {
    const Measures m = test::measures_of({.parts = R"(
E1 = { voltage_gain = 3, control = ["in", "gnd"], pins = ["out", "gnd"] }
)"});
    CHECK(std::isnan(m.input_impedance_1khz_ohm));
    CHECK_THAT(m.gain_1khz_db, WithinAbs(db_from_ratio(3), 1e-10));
}

}  // namespace lowhiss::input_impedance_test
