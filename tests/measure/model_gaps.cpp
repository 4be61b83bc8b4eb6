// Figures that a model leaves out: which measures are best cases then, and what becomes of limits.

#include "lowhiss/measure/model_gaps.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include "lowhiss/board/schema.hpp"
#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/model_figures.hpp"
#include "lowhiss/promise/check.hpp"
#include "lowhiss/series/spread.hpp"
#include "lowhiss/sweep/sweep.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::model_gaps_test {

std::vector<Verdict> verdicts_of(const Board& board) {
    const CheckRequest request{&board, board.limits};
    return check_boards({&request, 1}).front().verdicts;
}

/// A follower of 10 MHz on 10 nF of cable.
std::string follower(const std::string& output_resistance, const std::string& limit) {
    return R"(
[opamp.amp]
open_loop_gain = "140 dB"
gain_bandwidth = "10 MHz"
)" + output_resistance +
           R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
U1 = { opamp = "amp", plus = "in", minus = "out", out = "out" }
[input]
plus = "in"
[output]
plus = "out"
cable = "10n"
[[limit]]
name = "the limit"
)" + limit;
}

TEST_CASE("without an output resistance the phase margin on a cable is not known", "[gaps]") {
    const std::string limit = "measure = \"phase_margin\"\nmin = \"45 deg\"";
    const auto v = verdicts_of(test::board_from_text(follower("", limit)));
    REQUIRE(v.size() == 1);
    CHECK_THAT(v[0].value, WithinAbs(90, 1e-4));  // one pole: 90 degrees whatever the cable
    CHECK(v[0].outcome == Outcome::not_known);
    CHECK(std::isnan(v[0].margin));
    CHECK(v[0].reason == "not known: U1: amp has no output_resistance");
    REQUIRE(v[0].assumes_ideal.size() == 1);
    CHECK(v[0].assumes_ideal[0].parts == std::vector<std::string>{"U1"});
    CHECK(v[0].assumes_ideal[0].keys == std::vector<std::string_view>{"output_resistance"});

    // Stated to be ideal, it is 90 degrees and known.
    const auto ideal =
        verdicts_of(test::board_from_text(follower("output_resistance = \"ideal\"", limit)));
    CHECK(ideal[0].outcome == Outcome::pass);
    CHECK(ideal[0].assumes_ideal.empty());

    // 100 ohm and 10 nF are a second pole fp in the loop of GBW: f^2 (1 + f^2 / fp^2) = GBW^2 at
    // the crossover, where the margin is 90 degrees less atan(f / fp).
    const double pole_hz = 1 / (2 * std::numbers::pi * 100 * 10e-9);
    const double ratio = 10e6 / pole_hz;
    const double f_hz = pole_hz * std::sqrt((std::sqrt(1 + 4 * ratio * ratio) - 1) / 2);
    const double margin_deg = 90 - std::atan(f_hz / pole_hz) * 180 / std::numbers::pi;
    const auto real =
        verdicts_of(test::board_from_text(follower("output_resistance = \"100R\"", limit)));
    CHECK(real[0].outcome == Outcome::fail);
    CHECK_THAT(real[0].value, WithinAbs(margin_deg, 1e-3));
}

TEST_CASE("a best case decides the limits that it cannot but miss or meet", "[gaps]") {
    const auto outcome = [](const std::string& limit) {
        return verdicts_of(test::board_from_text(follower("", limit))).front().outcome;
    };
    // A real output resistance makes the margin smaller and the impedance larger.
    CHECK(outcome("measure = \"phase_margin\"\nmin = \"100 deg\"") == Outcome::fail);
    CHECK(outcome("measure = \"phase_margin\"\nmax = \"100 deg\"") == Outcome::pass);
    CHECK(outcome("measure = \"output_impedance\"\nmin = \"0R\"") == Outcome::pass);
    CHECK(outcome("measure = \"output_impedance\"\nmax = \"1R\"") == Outcome::not_known);
    // Gain does not rest on the missing figures of an ideal source's follower.
    CHECK(outcome("measure = \"gain\"\nmin = \"-0.1 dB\"") == Outcome::pass);
}

TEST_CASE("a missing figure that cannot be noticed leaves a figure known", "[gaps]") {
    // 10 nV and 10 ohm of feedback network: even 10 pA of current noise are 0.1 nV there.
    const auto with = [](const std::string& feedback) {
        return verdicts_of(test::board_from_text(R"(
[opamp.amp]
open_loop_gain = "140 dB"
gain_bandwidth = "10 MHz"
voltage_noise = "10 nV/rtHz"
[parts]
R1 = { resistor = "90R", pins = ["out", "n"] }
R2 = { resistor = ")" + feedback + R"(", pins = ["n", "gnd"] }
U1 = { opamp = "amp", plus = "in", minus = "n", out = "out" }
[input]
plus = "in"
[output]
plus = "out"
[[limit]]
name = "hiss"
measure = "ein"
max = "-100 dBu"
)"));
    };
    CHECK(with("10R").front().outcome == Outcome::pass);
    CHECK(with("10k").front().outcome == Outcome::not_known);
}

TEST_CASE("each measure rests on the figures that its record names", "[gaps]") {
    const std::map<std::string, std::string> model{{"voltage_noise", "10 nV/rtHz"},
                                                   {"current_noise", "1 pA/rtHz"},
                                                   {"output_resistance", "50R"},
                                                   {"cmrr", "100 dB"},
                                                   {"psrr", "100 dB"},
                                                   {"slew_rate", "1 V/us"},
                                                   {"swing_from_positive_rail", "1.5 V"},
                                                   {"swing_from_negative_rail", "1 V"},
                                                   {"supply_min", "10 V"},
                                                   {"supply_max", "36 V"},
                                                   {"supply_current", "3 mA"},
                                                   {"offset_voltage", "2 mV"},
                                                   {"bias_current", "100 nA"}};
    const auto board_without = [&](const std::string& key) {
        std::string text =
            "[opamp.amp]\nopen_loop_gain = \"140 dB\"\ngain_bandwidth = \"10 MHz\"\n";
        for (const auto& [name, value] : model) {
            if (name != key) text += name + " = \"" + value + "\"\n";
        }
        return test::board_from_text(text + R"(
[battery.block]
full = "9.6 V"
nominal = "9 V"
empty = "6 V"
capacity = "500 mAh"
[capsule.source]
kind = "resistive"
resistance = "1k"
sensitivity = "2 mV/Pa"
[parts]
BT1 = { battery = "block", pins = ["vcc", "gnd"] }
BT2 = { battery = "block", pins = ["gnd", "vee"] }
U1 = { opamp = "amp", plus = "in", minus = "n", out = "out", supply = ["vcc", "vee"] }
R1 = { resistor = "9k", pins = ["out", "n"] }
R2 = { resistor = "1k", pins = ["n", "m"] }
R3 = { resistor = "10k", pins = ["in", "gnd"] }
R4 = { resistor = "10k", pins = ["m", "gnd"] }
[input]
plus = "in"
minus = "m"
capsule = "source"
[output]
plus = "out"
load = "600R"
cable = "1n"
[[ripple]]
source = "BT1"
lines = [["1 kHz", "20 mV"]]
)");
    };
    const auto assumed_without = [&](const std::string& key) {
        const Board board = board_without(key);
        Assembly assembly(board, "", "source");
        std::set<std::string> measures;
        for (const AssumedIdeal& each : ModelGaps(assembly.board()).at(assembly.setting(0))) {
            CHECK(each.gap.keys == std::vector<std::string_view>{key});
            measures.emplace(each.measure);
        }
        return measures;
    };
    using Names = std::set<std::string>;
    CHECK(assumed_without("none").empty());
    CHECK(assumed_without("voltage_noise") ==
          Names{"ein", "ein_a", "ein_468", "noise_figure", "output_noise", "capsule_noise_rise",
                "self_noise", "dynamic_range", "quiet_level", "noise_figure_at",
                "best_source_resistance", "least_noise_figure", "input_voltage_noise",
                "input_current_noise", "noise_correlation"});
    CHECK(assumed_without("current_noise") == assumed_without("voltage_noise"));
    CHECK(assumed_without("output_resistance") == Names{"output_impedance", "output_loss",
                                                        "plus_pin_impedance", "output_balance",
                                                        "phase_margin", "loop_gain", "mode_q"});
    CHECK(assumed_without("cmrr") == Names{"common_mode_rejection"});
    CHECK(assumed_without("psrr") == Names{"supply_rejection", "ripple_output", "quiet_level"});
    // A slow amplifier slews at 20 kHz, and clips first at 1 kHz.
    // Without a slew rate nothing on the board distorts.
    CHECK(assumed_without("slew_rate") == Names{"max_input", "max_output", "max_spl",
                                                "second_harmonic", "third_harmonic", "distortion"});
    CHECK(assumed_without("swing_from_negative_rail") ==
          Names{"max_input", "max_output", "max_spl", "dynamic_range"});
    CHECK(assumed_without("supply_min") == Names{"supply_margin", "battery_life"});
    CHECK(assumed_without("supply_max") == Names{"supply_margin"});
    CHECK(assumed_without("supply_current") == Names{"supply_current", "battery_life"});
    CHECK(assumed_without("offset_voltage") == Names{"output_offset"});
    CHECK(assumed_without("bias_current") == Names{"output_offset"});
}

/// A stage on 9 V whose transistor's model lacks one key.
std::string stage_without(const std::string& table, const std::map<std::string, std::string>& model,
                          const std::string& parts, const std::string& key) {
    std::string text = table;
    for (const auto& [name, value] : model) {
        if (name != key) text += name + " = \"" + value + "\"\n";
    }
    return text + R"(
[battery.block]
full = "9.6 V"
nominal = "9 V"
empty = "6 V"
capacity = "500 mAh"
[capsule.source]
kind = "resistive"
resistance = "1k"
sensitivity = "2 mV/Pa"
[input]
plus = "in"
capsule = "source"
[output]
plus = "out"
[[ripple]]
source = "BT1"
lines = [["1 kHz", "20 mV"]]
[parts]
BT1 = { battery = "block", pins = ["vcc", "gnd"] }
)" + parts;
}

std::string bipolar_without(const std::string& key, const std::string& base_resistance = "100R") {
    return stage_without("[bipolar.q]\npolarity = \"npn\"\ncurrent_gain = 300\n",
                         {{"base_emitter_voltage", "0.65 V"},
                          {"early_voltage", "80 V"},
                          {"base_resistance", base_resistance},
                          {"transition_frequency", "200 MHz"},
                          {"base_emitter_capacitance", "8p"},
                          {"collector_base_capacitance", "3p"},
                          {"current_noise_corner", "500 Hz"}},
                         R"(
C1 = { capacitor = "10u", pins = ["in", "b"] }
R1 = { resistor = "100k", pins = ["vcc", "b"] }
R2 = { resistor = "22k", pins = ["b", "gnd"] }
R3 = { resistor = "1k", pins = ["e", "gnd"] }
C2 = { capacitor = "100u", pins = ["e", "gnd"] }
R4 = { resistor = "4k7", pins = ["vcc", "out"] }
Q1 = { bipolar = "q", collector = "out", base = "b", emitter = "e" }
)",
                         key);
}

std::string jfet_without(const std::string& key) {
    return stage_without("[jfet.j]\npolarity = \"n\"\n",
                         {{"saturation_current", "4 mA"},
                          {"pinch_off_voltage", "1.5 V"},
                          {"early_voltage", "80 V"},
                          {"gate_current", "2 pA"},
                          {"gate_source_capacitance", "6p"},
                          {"gate_drain_capacitance", "3p"},
                          {"voltage_noise", "2 nV/rtHz"},
                          {"voltage_noise_corner", "50 Hz"}},
                         R"(
C1 = { capacitor = "10u", pins = ["in", "g"] }
R1 = { resistor = "100M", pins = ["g", "gnd"] }
R2 = { resistor = "1k", pins = ["s", "gnd"] }
R3 = { resistor = "4k7", pins = ["vcc", "out"] }
J1 = { jfet = "j", drain = "out", gate = "g", source = "s" }
)",
                         key);
}

/// The measures that are best cases, all of them by that key.
std::set<std::string> assumed(const std::string& text, std::string_view key) {
    const Board board = test::board_from_text(text);
    Assembly assembly(board, "", "source");
    std::set<std::string> measures;
    for (const AssumedIdeal& each : ModelGaps(assembly.board()).at(assembly.setting(0))) {
        CHECK(each.gap.keys == std::vector<std::string_view>{key});
        measures.emplace(each.measure);
    }
    return measures;
}

TEST_CASE("what a transistor's model leaves out makes best cases", "[gaps][transistors]") {
    using Names = std::set<std::string>;
    const Names at_collector{"output_impedance", "plus_pin_impedance", "supply_rejection",
                             "ripple_output",    "quiet_level",        "second_harmonic",
                             "third_harmonic",   "distortion"};
    const Names noise{"ein",           "ein_a",        "ein_468",
                      "noise_figure",  "output_noise", "self_noise",
                      "dynamic_range", "quiet_level",  "noise_figure_at"};
    const auto all_of = [](const Names& some, const Names& measures) {
        return std::includes(measures.begin(), measures.end(), some.begin(), some.end());
    };
    const Names loop{"high_corner", "phase_margin"};
    SECTION("bipolar") {
        const auto without = [](const char* key) { return assumed(bipolar_without(key), key); };
        CHECK(without("none").empty());
        CHECK(without("early_voltage") == at_collector);
        CHECK(without("transition_frequency") == loop);
        CHECK(without("collector_base_capacitance") == loop);
        // Beside tau gm it hardly counts in the loop.
        CHECK(without("base_emitter_capacitance") == Names{"high_corner"});
        CHECK(all_of(noise, without("base_resistance")));
        CHECK(all_of(noise, without("current_noise_corner")));
        CHECK_FALSE(without("base_resistance").contains("phase_margin"));
        CHECK_FALSE(without("current_noise_corner").contains("output_impedance"));
    }
    SECTION("JFET") {
        const auto without = [](const char* key) { return assumed(jfet_without(key), key); };
        CHECK(without("none").empty());
        CHECK(without("early_voltage") == at_collector);
        CHECK(without("gate_source_capacitance") == loop);
        CHECK(without("gate_drain_capacitance") == loop);
        for (const char* key : {"voltage_noise", "voltage_noise_corner", "gate_current"}) {
            CAPTURE(key);
            CHECK(all_of(noise, without(key)));
            CHECK_FALSE(without(key).contains("high_corner"));
        }
    }
}

TEST_CASE("limits on the best case of a transistor", "[gaps][transistors]") {
    const auto outcome = [](const std::string& stage, const std::string& limit) {
        return verdicts_of(test::board_from_text(stage + "[[limit]]\nname = \"x\"\n" + limit))
            .front()
            .outcome;
    };
    // A real base resistance only adds noise: a limit that is missed without it is missed.
    const std::string missing = bipolar_without("base_resistance");
    CHECK(outcome(missing, "measure = \"ein\"\nmax = \"-100 dBu\"") == Outcome::not_known);
    CHECK(outcome(missing, "measure = \"ein\"\nmax = \"-140 dBu\"") == Outcome::fail);
    CHECK(outcome(missing, "measure = \"gain\"\nmin = \"20 dB\"") == Outcome::pass);
    const std::string ideal = bipolar_without("none", "ideal");
    CHECK(outcome(ideal, "measure = \"ein\"\nmax = \"-100 dBu\"") == Outcome::pass);
    // A capacitance may move a loop's margin either way, and decides nothing.
    const std::string fast = bipolar_without("transition_frequency");
    CHECK(outcome(fast, "measure = \"phase_margin\"\nmin = \"45 deg\"") == Outcome::not_known);
    CHECK(outcome(fast, "measure = \"phase_margin\"\nmin = \"179 deg\"") == Outcome::not_known);
    CHECK(outcome(bipolar_without("none"), "measure = \"high_corner\"\nmin = \"100 kHz\"") ==
          Outcome::pass);
}

TEST_CASE("each figure that a measure rests on has a poor value to be tried", "[gaps]") {
    std::set<std::string_view> poor;
    for (const auto& figure : model_figures::amplifier_figures) poor.insert(figure.key);
    for (const auto& figure : model_figures::transistor_figures) poor.insert(figure.key);
    for (const MeasureRecord& record : measure_records()) {
        for (const std::string_view key : record.rests_on) {
            CAPTURE(record.name, key);
            CHECK(poor.contains(key));
        }
    }
}

TEST_CASE("every model that comes with the project has every figure that a measure rests on",
          "[gaps]") {
    std::set<std::string_view> needed;
    for (const MeasureRecord& record : measure_records()) {
        needed.insert(record.rests_on.begin(), record.rests_on.end());
    }
    const BoardReading reading = read_board(
        "board.toml", [](const std::string& path) -> std::variant<std::string, Unreadable> {
            if (path != "board.toml") return disk_reader()(path);
            return std::string(R"([board]
include = [")" LOWHISS_SOURCE_DIR R"(/netlists/models/opamps.toml", ")" LOWHISS_SOURCE_DIR
                               R"(/netlists/models/preamp_ics.toml", ")" LOWHISS_SOURCE_DIR
                               R"(/netlists/models/transistors.toml"]
[parts]
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "1k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)");
        });
    INFO(test::all_text(reading.diagnostics));
    REQUIRE(reading.board);
    const auto check_complete = [&](const auto& models, const auto& figures) {
        REQUIRE(!models.empty());
        std::set<std::string_view> of_kind;
        for (const auto& figure : figures) of_kind.insert(figure.key);
        for (const auto& [name, model] : models) {
            for (const std::string_view key : model.missing) {
                CAPTURE(name, key);
                CHECK(!(needed.contains(key) && of_kind.contains(key)));
            }
        }
    };
    check_complete(reading.board->models.opamps, model_figures::amplifier_figures);
    check_complete(reading.board->models.preamp_ics, model_figures::amplifier_figures);
    check_complete(reading.board->models.bipolars, model_figures::transistor_figures);
    check_complete(reading.board->models.jfets, model_figures::transistor_figures);
}

TEST_CASE("no board of a series meets a limit that is not known", "[gaps]") {
    const Board board =
        test::board_from_text(follower("voltage_noise = \"ideal\"\ncurrent_noise = \"ideal\"",
                                       "measure = \"phase_margin\"\nmin = \"45 deg\""));
    SpreadRequest request;
    request.count = 5;
    request.limits = board.limits;
    const Spread spread = spread_of(board, request);
    CHECK(spread.yield.good == 0);
    CHECK(spread.limits.front().yield.good == 0);
    CHECK(spread.limits.front().nominal.outcome == Outcome::not_known);
    CHECK_THAT(spread.limits.front().statistics.mean, WithinAbs(90, 1e-4));
    for (const FigureSpread& figure : spread.figures) {
        const std::string_view name = figure.figure.figure->name;
        CAPTURE(name);
        CHECK(figure.figure.best_case == (name == "output_impedance"));
    }
}

TEST_CASE("a sweep says which figures are best cases, also for a cable", "[gaps]") {
    Board board =
        test::board_from_text(follower("voltage_noise = \"ideal\"\ncurrent_noise = \"ideal\"\n"
                                       "offset_voltage = \"ideal\"\nbias_current = \"ideal\"",
                                       "measure = \"gain\"\nmin = \"-1 dB\""));
    board.output.cable_f = 0;
    SweepRequest request;
    request.cables_f = {10e-9};
    const KnobResult knob = sweep(board, request).runs.front().knob.front();
    const auto names = [](const std::vector<AssumedIdeal>& assumed) {
        std::set<std::string_view> measures;
        for (const AssumedIdeal& each : assumed) measures.insert(each.measure);
        return measures;
    };
    // Without a cable only the impedances themselves depend on the output resistance; without a
    // slew rate nothing distorts.
    CHECK(names(knob.assumes_ideal) ==
          std::set<std::string_view>{"output_impedance", "plus_pin_impedance", "output_balance",
                                     "second_harmonic", "third_harmonic", "distortion"});
    CHECK(names(knob.behaviour.cables.front().assumes_ideal).contains("phase_margin"));
}

}  // namespace lowhiss::model_gaps_test
