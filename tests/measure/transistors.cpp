// Regions, alarms, headroom and spread of transistors against hand formulas.

#include "lowhiss/measure/headroom.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/measure/supply_faults.hpp"
#include "lowhiss/series/draw.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::transistor_measures_test {

constexpr double thermal_v = test::boltzmann_j_k * 293.15 / 1.602176634e-19;

const std::string models = R"(
[bipolar.n]
polarity = "npn"
current_gain = 100
base_emitter_voltage = "0.65 V"
[bipolar.p]
polarity = "pnp"
current_gain = 100
base_emitter_voltage = "0.65 V"
[jfet.j]
polarity = "n"
saturation_current = "4 mA"
pinch_off_voltage = "2 V"
spread = { saturation_current = ["2 mA", "8 mA"], pinch_off_voltage = ["1 V", "3 V"], correlation = 1 }
)";

/// A stage on 12 V with its base or gate held at a voltage.
test::Stage stage(const std::string& transistor, double control_v, const std::string& more = "") {
    return {.parts = fmt::format(R"(
R99 = {{ resistor = "1k", pins = ["in", "gnd"] }}
V1 = {{ voltage_source = "12 V", pins = ["vcc", "gnd"] }}
V2 = {{ voltage_source = {}, pins = ["b", "gnd"] }}
R1 = {{ resistor = "4k7", pins = ["vcc", "out"] }}
R2 = {{ resistor = "1k", pins = ["e", "gnd"] }}
{}
{}
)",
                                 control_v, transistor, more),
            .tables = models};
}

const std::string npn = R"(T1 = { bipolar = "n", collector = "out", base = "b", emitter = "e" })";

std::vector<PlacedFault> faults_of_stage(const test::Stage& drawn) {
    const Board board = test::board_of(drawn);
    Setting setting(board, nullptr, unset);
    return faults_at(setting);
}

TEST_CASE("a transistor out of its active region is a fault", "[measure][transistors]") {
    CHECK(faults_of_stage(stage(npn, 2)).empty());
    const auto text = [](const test::Stage& drawn) {
        const std::vector<PlacedFault> faults = faults_of_stage(drawn);
        REQUIRE(faults.size() == 1);
        CHECK(faults.front().fault.kind == FaultKind::not_active);
        return text_of(faults.front());
    };
    CHECK(text(stage(npn, 0.2)).starts_with("T1: cut off: base-emitter voltage 200"));
    CHECK(text(stage(npn, 6)).starts_with("T1: saturated: collector-emitter voltage "));
    // The emitter is more positive than the collector.
    const std::string exchanged =
        R"(T1 = { bipolar = "n", collector = "e", base = "b", emitter = "out" })";
    CHECK(text(stage(exchanged, 2)).ends_with("check its pins and its polarity, npn"));
    const std::string wrong_polarity =
        R"(T1 = { bipolar = "p", collector = "out", base = "b", emitter = "e" })";
    CHECK(text(stage(wrong_polarity, 2)).ends_with("check its pins and its polarity, pnp"));
    const std::string fet = R"(T1 = { jfet = "j", drain = "out", gate = "b", source = "e" })";
    CHECK(faults_of_stage(stage(fet, 0)).empty());
    CHECK(text(stage(fet, 2)).starts_with("T1: in its triode region: drain-source voltage "));
    CHECK(text(stage(fet, 12)).starts_with("T1: its gate conducts: gate-source voltage "));
}

TEST_CASE("headroom of a common-emitter stage", "[measure][transistors]") {
    // Cut off where the collector current's swing is I_C. The emitter is held, so that the swing is
    // I_C / V_T times the input's: V_T at the peak.
    const auto rms_v = [](const std::string& collector_ohm) {
        const Board board = test::board_of({.parts = R"(
V1 = { voltage_source = "12 V", pins = ["vcc", "gnd"] }
V2 = { voltage_source = "-12 V", pins = ["vee", "gnd"] }
I1 = { current_source = "1.01 mA", from = "e", into = "vee" }
C1 = { capacitor = "50m", pins = ["e", "gnd"] }
T1 = { bipolar = "n", collector = "out", base = "in", emitter = "e" }
R1 = { resistor = ")" + collector_ohm + "\", pins = [\"vcc\", \"out\"] }\n",
                                            .tables = models});
        Setting setting(board, nullptr, unset);
        const Headroom headroom = headroom_at(setting, 1000);
        CHECK(headroom.part == "T1");
        return headroom.input_v;
    };
    CHECK_THAT(rms_v("4k7"), WithinRel(thermal_v / std::numbers::sqrt2, 1e-4));
    // Saturated first: 1 mA in 10 kohm leaves V_CE = 2 V + V_BE, of which V_T ln 20 must stay; the
    // swing is 10 kohm over V_T / 1 mA times the input's, at a gain of 1 more for V_CE.
    const double v_ce = 2 + 0.65;
    CHECK_THAT(rms_v("10k"), WithinRel((v_ce - thermal_v * std::log(20)) /
                                           (10e3 * 1e-3 / thermal_v) / std::numbers::sqrt2,
                                       1e-3));
}

TEST_CASE("figures of a spread stray together", "[measure][transistors]") {
    const Board board =
        test::board_of(stage(R"(T1 = { jfet = "j", drain = "out", gate = "b", source = "e" })", 0));
    const std::vector<Draw> draws = draws_of(board);
    REQUIRE(draws.size() == 1);  // at a correlation of 1 there is one number
    CHECK(text_of(draws.front()) == "T1 spread");
    const auto model_at = [&](double place) {
        const Board made = board_with(board, [&](const Draw&) { return place; });
        const Part* part = find_part(made, "T1");
        return made.models.jfets.find(std::get<Jfet>(part->data).model)->second;
    };
    CHECK_THAT(model_at(0).saturation_a, WithinRel(4e-3, 1e-12));
    CHECK_THAT(model_at(1).saturation_a, WithinRel(8e-3, 1e-12));
    CHECK_THAT(model_at(1).pinch_off_v, WithinRel(3.0, 1e-12));
    CHECK_THAT(model_at(-0.5).saturation_a, WithinRel(3e-3, 1e-12));
    CHECK_THAT(model_at(-0.5).pinch_off_v, WithinRel(1.5, 1e-12));
}

}  // namespace lowhiss::transistor_measures_test
