// A measured impedance: R and X are linear over log f, the noise is that of the real part, and
// nothing is computed outside the table.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::measured_capsule_test {

using test::Z;

// 200 ohm, then 100 + j100, then 50 - j50.
const std::string csv =
    "frequency_hz,impedance_ohm,phase_deg\n"
    "10,200,0\n"
    "1000,141.4213562373095,45\n"
    "16000,70.71067811865476,-45\n";

Board board(const std::string& keys = "") {
    const test::Stage stage{.parts = R"(RL = { resistor = "1k", pins = ["in", "gnd"] })",
                            .capsule = "kind = \"measured\"\nfile = \"coil.csv\"\n" + keys,
                            .tap = "in"};
    BoardReading reading =
        read_board("board.toml",
                   test::memory_reader({{"board.toml", test::text_of(stage)}, {"coil.csv", csv}}));
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    return *std::move(reading.board);
}

// At the points, and halfway between them in log f.
const std::pair<double, Z> impedances[] = {
    {10, {200, 0}}, {100, {150, 50}}, {1000, {100, 100}}, {4000, {75, 25}}, {16000, {50, -50}}};

TEST_CASE("a measured capsule is what was measured, and halfway between halfway") {
    Network network = test::network_of(board());
    for (const auto& [f_hz, ohm] : impedances) {
        CAPTURE(f_hz);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(1000.0 / (1000.0 + ohm), test::close));
    }
}

TEST_CASE("the real part of a measured impedance hisses") {
    Network network = test::network_of(board());
    for (const auto& [f_hz, ohm] : impedances) {
        CAPTURE(f_hz);
        const double expected = test::thermal_v2_hz(test::parallel(1000.0, ohm).real());
        CHECK_THAT(test::output_noise_v2_hz(network, f_hz), WithinRel(expected, test::close));
    }
}

TEST_CASE("outside the measurement is an error that says how far it goes") {
    Network network = test::network_of(board());
    for (const double f_hz : {9.999, 16001.0}) {
        try {
            network.respond(f_hz);
            FAIL("a response at " << f_hz << " Hz");
        } catch (const Error& error) {
            CHECK(error.kind() == Error::Kind::unusable_input);
            REQUIRE(error.diagnostics().size() == 1);
            CHECK(error.diagnostics()[0].code == "outside-measurement");
            CHECK(error.diagnostics()[0].accepted ==
                  "10 Hz to 16 kHz, the range of the measurement");
        }
    }
}

TEST_CASE("extrapolate = true holds the ends") {
    Network network = test::network_of(board("extrapolate = true"));
    CHECK_THAT(network.respond(0.1).gain, test::CloseTo(1000.0 / 1200.0, test::close));
    CHECK_THAT(network.respond(1e6).gain, test::CloseTo(1000.0 / Z(1050, -50), test::close));
}

}  // namespace lowhiss::measured_capsule_test
