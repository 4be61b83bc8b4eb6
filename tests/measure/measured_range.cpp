// A measured capsule is known from its first to its last point, and figures beyond are unset.

#include <cmath>

#include "lowhiss/measure/corner.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::measured_range_test {

/// 200 ohm, measured from 100 Hz to 10 kHz, into a high pass and a low pass.
Board board(const std::string& farad_low, const std::string& farad_high,
            const std::string& keys = "",
            const std::string& csv = "100,200,0\n1000,200,0\n10000,200,0\n") {
    const test::Stage stage{.parts = R"(
C1 = { capacitor = ")" + farad_low + R"(", pins = ["in", "a"] }
R1 = { resistor = "1k8", pins = ["a", "gnd"] }
E1 = { voltage_gain = 10, control = ["a", "gnd"], pins = ["b", "gnd"] }
R2 = { resistor = "1k", pins = ["b", "out"] }
C2 = { capacitor = ")" + farad_high + R"(", pins = ["out", "gnd"] }
)",
                            .capsule = "kind = \"measured\"\nfile = \"m.csv\"\n" + keys};
    BoardReading reading = read_board(
        "board.toml", test::memory_reader({{"board.toml", test::text_of(stage)}, {"m.csv", csv}}));
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    return *std::move(reading.board);
}

std::pair<double, double> corners_of(const Board& board) {
    Network network = test::network_of(board);
    const Response reference = network.respond(1000);
    return {corner_hz(network, reference, Corner::low),
            corner_hz(network, reference, Corner::high)};
}

TEST_CASE("corners inside the measured range are found") {
    // 159 Hz into 2 kohm; 5.3 kHz.
    const auto [low, high] = corners_of(board("500n", "30n"));
    const auto power = [](double f_hz) {
        const double low_hz = 1 / (2 * test::pi * 2000 * 500e-9);
        const double high_hz = 1 / (2 * test::pi * 1000 * 30e-9);
        return 1 / ((1 + std::pow(low_hz / f_hz, 2)) * (1 + std::pow(f_hz / high_hz, 2)));
    };
    CHECK_THAT(power(low) / power(1000), WithinAbs(0.5, 1e-9));
    CHECK_THAT(power(high) / power(1000), WithinAbs(0.5, 1e-9));
}

TEST_CASE("corners beyond the measured range are not made up") {
    // 16 Hz and 53 kHz.
    const auto [low, high] = corners_of(board("5u", "3n"));
    CHECK(std::isnan(low));
    CHECK(std::isnan(high));
    // Unless the capsule says that its ends may be held.
    const auto [held_low, held_high] = corners_of(board("5u", "3n", "extrapolate = true"));
    CHECK_THAT(held_low, WithinAbs(15.9, 0.2));
    CHECK_THAT(held_high, WithinAbs(53.1e3, 500));
}

TEST_CASE("a sweep beyond the measured range is an error that says how far it goes") {
    SweepRequest request;
    request.frequency_hz = {1000, 20e3};
    request.band = {200, 5000};
    try {
        sweep(board("5u", "3n"), request);
        FAIL("a response at 20 kHz");
    } catch (const Error& error) {
        CHECK(error.kind() == Error::Kind::unusable_input);
        const Diagnostic& d = error.diagnostics().at(0);
        CHECK(d.code == "outside-measurement");
        CHECK(d.found == "the capsule's impedance was not measured at 20 kHz");
        CHECK(d.accepted == "100 Hz to 10 kHz, the range of the measurement");
        CHECK(d.advice ==
              "measure a wider range, or set extrapolate = true in the capsule's table");
    }
}

TEST_CASE("a capsule measured from 20 Hz to 20 kHz, and no further, has every figure") {
    SweepRequest request;
    request.frequency_hz = {20, 1000, 20e3};
    const Sweep result =
        sweep(board("5u", "30n", "", "20,200,0\n1000,190,5\n20000,230,20\n"), request);
    const Measures& m = result.runs.at(0).knob.at(0).measures;
    for (const double figure :
         {m.gain_20hz_db, m.gain_20khz_db, m.ein_dbu, m.ein_a_dbu, m.ein_468_dbu, m.noise_figure_db,
          m.capsule_noise_rise_db, m.capsule_effect_20khz_db, m.high_corner_hz}) {
        CHECK(std::isfinite(figure));
    }
    // 16 Hz is outside the range.
    CHECK(std::isnan(m.low_corner_hz));
}

}  // namespace lowhiss::measured_range_test
