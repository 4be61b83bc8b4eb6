// Preamp ICs whose gain one resistor sets.

#include <fmt/format.h>

#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::preamp_ic_gains_test {

test::Stage amplifier(double gain_ohm, const std::string& figures) {
    return {.parts = fmt::format(R"(
RG = {{ resistor = {}, pins = ["g1", "g2"] }}
U1 = {{ preamp_ic = "part", plus = "in", minus = "gnd", gain_pins = ["g1", "g2"], out = "out", reference = "gnd" }}
)",
                                 gain_ohm),
            .tables = "[preamp_ic.part]\n" + figures};
}

double gain(double gain_ohm, const std::string& figures) {
    return std::abs(test::gain_of(amplifier(gain_ohm, figures), 1000));
}

TEST_CASE("1 + 10 k / Rg, as of the SSM2019") {
    // SSM2019 data sheet, table of gain resistors: round values for round decibels.
    struct Row {
        double ohm, sheet_db, computed_db;
    };
    constexpr Row table[] = {{4700, 10, 9.904}, {1100, 20, 20.079}, {330, 30, 29.912},
                             {100, 40, 40.086}, {32, 50, 49.925},   {10, 60, 60.009}};
    for (const Row& row : table) {
        CAPTURE(row.ohm);
        const double db =
            db_from_ratio(gain(row.ohm, "gain_resistance = \"10k\"\ngain_offset = 1\n"));
        CHECK_THAT(db, WithinAbs(row.sheet_db, 0.1));
        CHECK_THAT(db, WithinAbs(row.computed_db, 5e-4));
    }
}

TEST_CASE("1 + 6 k / Rg, as of the INA163") {
    // INA163 data sheet, table of gain resistors, rounded there to whole ohms.
    const std::pair<double, double> table[] = {{6000, 2}, {1500, 5}, {667, 10},
                                               {316, 20}, {122, 50}, {61, 100},
                                               {30, 200}, {12, 500}, {6, 1000}};
    for (const auto& [ohm, printed] : table) {
        CAPTURE(ohm);
        const double ours = gain(ohm, "gain_resistance = \"6k\"\ngain_offset = 1\n");
        CHECK_THAT(ours, test::CloseTo(1 + 6000 / ohm, test::close));
        CHECK_THAT(ours, WithinRel(printed, 0.01));
    }
}

TEST_CASE("noise at the input is the root of eni^2 + (eno / G)^2") {
    // INA826 data sheet: eni 18 nV/rtHz, eno 110 nV/rtHz; 18.03 at G = 100 is its own condition.
    const std::string figures =
        "gain_resistance = \"49.4k\"\ngain_offset = 1\n"
        "input_voltage_noise = \"18 nV/rtHz\"\noutput_voltage_noise = \"110 nV/rtHz\"\n";
    const std::pair<double, double> table[] = {{1, 111.46}, {10, 21.10}, {100, 18.03}};
    for (const auto& [g, printed_nv] : table) {
        CAPTURE(g);
        // The gain resistor is noisy too, and not included in the sheet's figure; at 1 mK its noise
        // is negligible.
        test::Stage stage = amplifier(g == 1 ? 1e15 : 49.4e3 / (g - 1), figures);
        stage.board = "temperature = \"0.001 K\"";
        Network network = test::network_of(stage);
        const double input_nv = std::sqrt(test::output_noise_v2_hz(network, 1000)) / g * 1e9;
        CHECK_THAT(input_nv, WithinAbs(printed_nv, 0.005));
    }
}

}  // namespace lowhiss::preamp_ic_gains_test
