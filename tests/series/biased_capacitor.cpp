// A ceramic capacitor that loses capacitance to its direct voltage, in tolerance runs, at corners
// and in a baseline: everything depends on the capacitance at its direct voltage, not on the
// nominal one.

#include <algorithm>
#include <cmath>

#include "lowhiss/measure/registry.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/promise/drift.hpp"
#include "lowhiss/series/random_board.hpp"
#include "lowhiss/series/spread.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::biased_capacitor_test {

/// Coupling into a divider that puts half of V1 over the capacitor: of 10 uF at 5 V a fifth is
/// lost, at 10 V two fifths.
Board board_on(const std::string& supply, const std::string& capacitor_more = "") {
    return test::board_of({.parts = "V1 = { voltage_source = \"" + supply +
                                    R"(", pins = ["v", "gnd"] }
C1 = { capacitor = "10u", pins = ["in", "out"], tolerance = "20 %", bias_loss = [["0 V", 0], ["10 V", "40 %"]])" +
                                    capacitor_more + R"( }
R1 = { resistor = "2k", pins = ["v", "out"], tolerance = "5 %" }
R2 = { resistor = "2k", pins = ["out", "gnd"], tolerance = "5 %" }
)",
                           .tables = R"(
[[limit]]
name = "bass"
measure = "low_corner"
max = "25 Hz"
)"});
}

/// The frequency at which a high pass of first order is 3.01 dB under its gain at 1 kHz, with what
/// the capacitor has left at the divider's voltage.
double corner_hz(double volts, double r1_ohm, double r2_ohm, double nominal_f) {
    const double over_c1 = volts * r2_ohm / (r1_ohm + r2_ohm);
    const double left_f = nominal_f * (1 - 0.04 * over_c1);
    const double f0_hz = 1 / (2 * test::pi * left_f * r1_ohm * r2_ohm / (r1_ohm + r2_ohm));
    return f0_hz / std::sqrt(1 + 2 * std::pow(f0_hz / 1e3, 2));
}

double low_corner_hz(const Board& board) {
    Setting setting(board, nullptr, 0);
    return find_measure("low_corner")->at_setting(setting, {}).value;
}

double ohm(const Board& board, std::string_view name) {
    return std::get<Resistor>(find_part(board, name)->data).resistance_ohm;
}

TEST_CASE("the corner frequency goes by what bias leaves of a capacitor", "[series]") {
    // Corners are found to 1e-10.
    for (const auto& [text, volts] : {std::pair("0 V", 0.0), {"10 V", 10.0}, {"-10 V", 10.0}}) {
        CAPTURE(text);
        CHECK_THAT(low_corner_hz(board_on(text)),
                   WithinRel(corner_hz(volts, 2e3, 2e3, 1e-5), 1e-8));
    }
}

TEST_CASE("each board of a series has its own bias and its own loss", "[series]") {
    const Board board = board_on("10 V");
    const Spread spread = spread_of(board, {{}, 0, 200, "", board.limits});
    const LimitSpread& bass = spread.limits.at(0);
    REQUIRE(bass.values.size() == 200);
    for (std::uint64_t k = 0; k < 200; ++k) {
        const Board drawn = random_board(board, {}, k);
        const double nominal_f = std::get<Capacitor>(find_part(drawn, "C1")->data).capacitance_f;
        const double expected_hz = corner_hz(10, ohm(drawn, "R1"), ohm(drawn, "R2"), nominal_f);
        CHECK_THAT(bass.values[k], WithinRel(expected_hz, 1e-8));
    }
}

TEST_CASE("the worst corner is that of the biased capacitor", "[series]") {
    // All eight corners by the closed form. R1 and R2 do not count alike: R2 raises the bias as
    // well, so that with the nominal capacitance, or with the loss of the drawn board, another
    // value would be the worst.
    const Board board = board_on("10 V");
    const Spread spread = spread_of(board, {{}, 0, 200, "", board.limits});
    std::vector<double> corners;
    for (const double c : {0.8, 1.2}) {
        for (const double r1 : {0.95, 1.05}) {
            for (const double r2 : {0.95, 1.05}) {
                corners.push_back(corner_hz(10, 2e3 * r1, 2e3 * r2, 1e-5 * c));
            }
        }
    }
    const auto [least, most] = std::minmax_element(corners.begin(), corners.end());
    const LimitSpread& bass = spread.limits.at(0);
    CHECK_THAT(bass.found.lowest.value, WithinRel(*least, 1e-8));
    CHECK_THAT(bass.found.highest.value, WithinRel(*most, 1e-8));
    // One end of R2: a resistance 2.4 % less, and less of a loss.
    const double drawn_hz = corner_hz(10, 2e3, 2e3, 1e-5);
    const auto r2 = std::find_if(bass.parts.effects.begin(), bass.parts.effects.end(),
                                 [](const PartEffect& effect) { return effect.draw.name == "R2"; });
    REQUIRE(r2 != bass.parts.effects.end());
    CHECK_THAT(r2->at_low_end, WithinRel(corner_hz(10, 2e3, 1.9e3, 1e-5) - drawn_hz, 1e-6));
}

TEST_CASE("a baseline records what bias leaves, and moves with the bias", "[series]") {
    const auto figures_of = [](const Board& board) {
        const CheckRequest request{&board, {}, true};
        return check_boards({&request, 1}).front().figures;
    };
    const Board board = board_on("10 V");
    const std::string text = baseline_text(board, figures_of(board), "1.2.3");
    Diagnostics out;
    const auto baseline = read_baseline("b", test::memory_reader({{"b", text}}), out);
    REQUIRE(baseline);
    const auto corner_of = [&](const Board& now) {
        for (const FigureDrift& d : drift_from(*baseline, figures_of(now), now, out)) {
            if (d.key == "plain, no capsule, low_corner") return d;
        }
        FAIL("no low corner");
        return FigureDrift{};
    };
    CHECK(corner_of(board).kind == FigureDrift::Kind::still);
    // 19.89 Hz with 8 uF; it would be 15.9 Hz with 10 uF.
    CHECK_THAT(corner_of(board).figure.value, WithinRel(corner_hz(10, 2e3, 2e3, 1e-5), 1e-8));
    CHECK(corner_of(board).before == "19.89 Hz");
    // The same parts on 14 V: 28 % lost.
    const FigureDrift moved = corner_of(board_on("14 V"));
    CHECK(moved.kind == FigureDrift::Kind::moved);
    CHECK_THAT(moved.moved_by,
               WithinAbs(corner_hz(14, 2e3, 2e3, 1e-5) / corner_hz(10, 2e3, 2e3, 1e-5) - 1,
                         2e-3));  // the recorded value is rounded
}

}  // namespace lowhiss::biased_capacitor_test
