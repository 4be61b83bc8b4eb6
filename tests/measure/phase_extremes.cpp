// The spread of a phase over a band, against a fine scan of its closed form.

#include <fmt/format.h>

#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::phase_extremes_test {

using test::pi;

TEST_CASE("the extremes of a phase are those between the points of the scan", "[phase]") {
    // A resistor into a resistor with a series resonance beside it: the phase is 0 at the resonance
    // and far from it, and has an extreme on each flank.
    for (const double q : {0.7, 2.0, 5.0, 30.0, 300.0}) {
        for (const double f0_hz : {25.0, 777.0, 19000.0}) {
            CAPTURE(q, f0_hz);
            const double leg_ohm = 20e3;
            const double w0 = 2 * pi * f0_hz;
            const double henry = q * leg_ohm / w0;
            const double farad = 1 / (q * leg_ohm * w0);
            const test::Stage stage{.parts = fmt::format(R"(
R1 = {{ resistor = "1k", pins = ["in", "out"] }}
R2 = {{ resistor = "10k", pins = ["out", "gnd"] }}
R3 = {{ resistor = {:.17g}, pins = ["out", "x"] }}
L1 = {{ inductor = {:.17g}, pins = ["x", "y"] }}
C1 = {{ capacitor = {:.17g}, pins = ["y", "gnd"] }}
)",
                                                         leg_ohm, henry, farad)};
            const auto phase_deg = [&](double f_hz) {
                const test::Z s = test::s_at(f_hz);
                const test::Z leg = leg_ohm + s * henry + 1.0 / (s * farad);
                const test::Z shunt = 1.0 / (1.0 / 10e3 + 1.0 / leg);
                return std::arg(shunt / (1e3 + shunt)) * 180 / pi;
            };
            double low = phase_deg(20000);
            double high = low;
            for (double f = 20; f <= 20000; f *= 1 + 2e-5) {
                low = std::min(low, phase_deg(f));
                high = std::max(high, phase_deg(f));
            }
            const Board board = test::board_of(stage);
            Setting setting(board, nullptr, 0);
            const double spread_deg = find_measure("phase_spread")->at_setting(setting, {}).value;
            // The fine scan is 2e-5 apart: of a resonance of 300 to 6e-3 of its width, squared.
            CHECK_THAT(spread_deg, WithinRel(high - low, 4e-5));
        }
    }
}

}  // namespace lowhiss::phase_extremes_test
