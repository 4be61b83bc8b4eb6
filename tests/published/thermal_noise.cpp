// The thermal noise of a resistor, as a meter reads it.

#include <fmt/format.h>

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::thermal_noise_test {

KnobResult read(double ohm, double temperature_k, Band band = {}) {
    const test::Stage bare{.parts = R"(SB1 = { link = "closed", pins = ["in", "out"] })",
                           .capsule = fmt::format("kind = \"resistive\"\nresistance = {}\n", ohm),
                           .board = fmt::format("temperature = {}", temperature_k)};
    SweepRequest request;
    request.frequency_hz = {1000};
    request.band = band;
    return test::solve(test::board_of(bare), 0, request);
}

// From 0 Hz, near enough: a millihertz is 2e-7 dB of 20 kHz.
constexpr Band from_zero{1e-3, 20e3};

// k = 1.380649e-23 J/K, SI 2019; 0 dBu = sqrt(0.6) V. The figures were computed from sqrt(4kTRB) by
// an independent script and are printed to three decimals.
TEST_CASE("thermal noise of resistors in dBu, unweighted and A-weighted") {
    struct Row {
        double ohm, temperature_k, density_nv, dbu_20khz, dbu, dbu_a;
    };
    constexpr double c20 = 293.15;
    constexpr double c25 = 298.15;
    constexpr Row table[] = {
        {150, 290, 1.5499, -130.965, -130.969, -133.018},
        {150, c20, 1.5583, -130.918, -130.922, -132.971},
        {150, c25, 1.5716, -130.845, -130.849, -132.897},
        {150, 300, 1.5764, -130.818, -130.822, -132.870},
        {200, c20, 1.7994, -129.669, -129.673, -131.721},
        {600, c20, 3.1167, -124.897, -124.902, -126.950},
        {1000, 290, 4.0019, -122.726, -122.730, -124.778},
        {1000, c25, 4.0578, -122.605, -122.610, -124.658},
    };
    for (const Row& row : table) {
        CAPTURE(row.ohm, row.temperature_k);
        const KnobResult result = read(row.ohm, row.temperature_k);
        CHECK_THAT(result.output_noise_v_rthz[0] * 1e9, WithinAbs(row.density_nv, 5e-5));
        CHECK_THAT(result.measures.ein_dbu, WithinAbs(row.dbu, 6e-4));
        CHECK_THAT(result.measures.ein_a_dbu, WithinAbs(row.dbu_a, 6e-4));
        const double wide = read(row.ohm, row.temperature_k, from_zero).measures.ein_dbu;
        CHECK_THAT(wide, WithinAbs(row.dbu_20khz, 6e-4));
    }
}

TEST_CASE("150 ohm at 300 K in 20 kHz: -130.82 dBu") {
    // Benchmark Media, application note on microphone preamp noise: -130.82 dBu for 150 ohm in
    // 20 kHz, temperature not said; it is 300 K.
    CHECK_THAT(read(150, 300, from_zero).measures.ein_dbu, WithinAbs(-130.82, 0.005));
}

TEST_CASE("150 ohm in 20 kHz: 0.22 uV, -133 dBV") {
    // The Broadcast Bridge, "Why the noise on microphone preamplifiers"; two and three digits.
    const double volt = read(150, 293.15, from_zero).measures.ein_v;
    CHECK_THAT(volt, WithinAbs(0.22e-6, 0.005e-6));
    CHECK_THAT(db_from_ratio(volt), WithinAbs(-133, 0.5));
}

TEST_CASE("1 kohm in 10 kHz: about 400 nV") {
    // Quoted from an encyclopaedia as 400 nV at room temperature; one digit, in truth 403 to 406.
    const double volt = read(1000, 293.15, {1e-3, 10e3}).measures.ein_v;
    CHECK_THAT(volt, WithinAbs(400e-9, 7e-9));
}

TEST_CASE("white noise reads 7.301 dB more through BS.468-4") {
    // Noise bandwidth 107 334 Hz in 20 Hz to 20 kHz, computed from the network by an independent
    // script.
    const Measures m = read(150, 293.15).measures;
    CHECK_THAT(m.ein_468_dbu - m.ein_dbu, WithinAbs(7.301, 6e-4));
}

TEST_CASE("white noise with a 1/f corner: e^2 (f2 - f1 + fc ln(f2/f1))") {
    // 5 nV/rtHz, corner 100 Hz: 0.718867 uV in 20 Hz to 20 kHz, 0.706753 uV without the corner.
    const auto reads = [](const std::string& corner) {
        return test::measures_of(
                   {.parts = R"(U1 = { opamp = "part", plus = "in", minus = "out", out = "out" })",
                    .tables = "[opamp.part]\nopen_loop_gain = 1e8\ngain_bandwidth = 1e14\n"
                              "voltage_noise = \"5 nV/rtHz\"\n" +
                              corner})
            .output_noise_v;
    };
    CHECK_THAT(reads("voltage_noise_corner = \"100 Hz\"") * 1e6, WithinAbs(0.718867, 1e-6));
    CHECK_THAT(reads("") * 1e6, WithinAbs(0.706753, 1e-6));
}

}  // namespace lowhiss::thermal_noise_test
