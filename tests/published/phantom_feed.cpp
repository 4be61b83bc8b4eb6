// Phantom feeds against IEC 61938 and hand computation; a battery against common practice.

#include <fmt/format.h>

#include <cmath>

#include "lowhiss/measure/battery_life.hpp"
#include "lowhiss/measure/rejection.hpp"
#include "lowhiss/measure/setting.hpp"
#include "lowhiss/measure/supply.hpp"
#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::phantom_feed_test {

/// A load on both wires of a feed.
Board fed(const std::string& parts, const std::string& feed) {
    return test::board_from_text(R"(
[parts]
R99 = { resistor = "1k", pins = ["in", "gnd"] }
)" + parts + R"(
[input]
plus = "in"
[output]
plus = "p"
minus = "n"
[feed]
plus = "p"
minus = "n"
)" + feed);
}

SupplyState state_of(const Board& board) {
    return supply_state(board, 0, nullptr);
}

const SourceState& feed_of(const SupplyState& state) {
    REQUIRE(state.sources.size() == 1);
    REQUIRE(state.sources[0].kind == SourceState::Kind::feed);
    return state.sources[0];
}

TEST_CASE("the feeds of IEC 61938 have its voltages, resistors and limits", "[feed]") {
    // IEC 61938, phantom supplies: voltage and tolerance, resistors, their matching, current; as
    // copies of the standard's table have it, check against the standard.
    struct Row {
        const char* name;
        double volts, tolerance_v, ohm, matching, limit_a;
    };
    const Row rows[] = {{"P12", 12, 1, 680, 0.004, 15e-3},
                        {"P24", 24, 4, 1200, 0.004, 10e-3},
                        {"P48", 48, 4, 6800, 0.004, 10e-3}};
    REQUIRE(standard_feeds().size() == std::size(rows));
    for (std::size_t k = 0; k < std::size(rows); ++k) {
        const Feed& feed = standard_feeds()[k];
        CHECK(feed.standard == rows[k].name);
        CHECK(feed.voltage_v == rows[k].volts);
        CHECK(feed.voltage_tolerance_v == rows[k].tolerance_v);
        CHECK(feed.resistance_ohm == rows[k].ohm);
        CHECK(feed.matching == rows[k].matching);
        CHECK(feed.current_limit_a == rows[k].limit_a);
    }
}

TEST_CASE("both wires of P48 shorted take 14.118 mA, which is too much", "[feed]") {
    // 48 V / 3.4 kohm, by hand.
    const SupplyState state = state_of(fed(R"(
SB1 = { link = "closed", pins = ["p", "gnd"] }
SB2 = { link = "closed", pins = ["n", "gnd"] }
)",
                                           "standard = \"P48\""));
    CHECK_THAT(feed_of(state).amperes, WithinAbs(48 / 3.4e3, 1e-12));
    CHECK_THAT(feed_of(state).amperes, WithinAbs(14.118e-3, 5e-7));
    CHECK(feed_margin_a(state) < 0);
    CHECK(faults_of(state).size() == 1);
}

TEST_CASE("what is left at the microphone at the largest current", "[feed]") {
    // By hand: 48 V - 10 mA x 3.4 kohm = 14.0 V, 24 V - 10 mA x 600 ohm = 18.0 V,
    // 12 V - 15 mA x 340 ohm = 6.9 V.
    struct Row {
        const char* name;
        const char* half;
        double volts;
    };
    for (const Row& row :
         {Row{"P48", "5 mA", 14.0}, Row{"P24", "5 mA", 18.0}, Row{"P12", "7.5 mA", 6.9}}) {
        CAPTURE(row.name);
        const std::string half = row.half;
        const SupplyState state = state_of(
            fed("I1 = { current_source = \"" + half + "\", from = \"p\", into = \"gnd\" }\n" +
                    "I2 = { current_source = \"" + half + "\", from = \"n\", into = \"gnd\" }\n",
                "standard = \"" + std::string(row.name) + "\""));
        CHECK_THAT(feed_of(state).volts, WithinAbs(row.volts, 1e-9));
        CHECK_THAT(feed_margin_a(state), WithinAbs(0, 1e-12));
    }
}

TEST_CASE("a P48 feed 0.4 % apart, by hand", "[feed]") {
    // 2 kohm from each wire to ground; 6.8 kohm times 1.002 and 0.998.
    Board board = fed(R"(
R1 = { resistor = "2k", pins = ["p", "gnd"] }
R2 = { resistor = "2k", pins = ["n", "gnd"] }
)",
                      "standard = \"P48\"");
    board.feed->mismatch = board.feed->matching;
    const double plus_v = 48 * 2000 / (2000 + 6800 * 1.002);   // 10.8923 V
    const double minus_v = 48 * 2000 / (2000 + 6800 * 0.998);  // 10.9260 V
    const SupplyState state = state_of(board);
    CHECK_THAT(state.output_v, WithinAbs(plus_v - minus_v, 1e-10));
    CHECK_THAT(state.output_v, WithinAbs(-33.72e-3, 5e-6));
    // Ripple on the 48 V reaches the output by the same ratio.
    board.feed->mismatch = 0;
    Setting setting(board, nullptr, 0);
    const double ratio = std::abs(2000 / (2000 + 6800 * 1.002) - 2000 / (2000 + 6800 * 0.998));
    CHECK_THAT(feed_rejection_db(setting, 1000), WithinAbs(-20 * std::log10(ratio), 1e-9));
    CHECK(std::isnan(supply_rejection_db(setting, 1000, "feed")));  // alike: nothing comes through
}

TEST_CASE("what comes from a supply is unset where it is lost in rounding", "[feed]") {
    // A bridge in balance: both wires have three sevenths of the supply by other resistors, so that
    // what is computed of their difference is rounding alone. Own closed form: zero.
    const Board board = test::board_from_text(R"(
[parts]
BT1 = { battery = "block", pins = ["vcc", "gnd"] }
R1 = { resistor = "4k1", pins = ["vcc", "p"] }
R2 = { resistor = "3k075", pins = ["p", "gnd"] }
R3 = { resistor = "12k3", pins = ["vcc", "n"] }
R4 = { resistor = "9k225", pins = ["n", "gnd"] }
R5 = { resistor = "10k", pins = ["in", "p"] }
R6 = { resistor = "30k", pins = ["gnd", "n"] }
[input]
plus = "in"
[output]
plus = "p"
minus = "n"
[[ripple]]
name = "hum"
source = "BT1"
lines = [["100 Hz", "1 mV"]]
[battery.block]
full = "9.6 V"
nominal = "9 V"
empty = "6 V"
capacity = "500 mAh"
)");
    Setting setting(board, nullptr, 0);
    CHECK(std::isnan(supply_rejection_db(setting, 1000, "BT1")));
    CHECK(std::isnan(ripple_output_dbu(setting, {20, 20000})));
}

TEST_CASE("the larger of a feed's resistors is the one that does more harm", "[feed]") {
    // Loads 0.2 % apart the other way: with the plus resistor the larger both wires have the same
    // ratio but for a millionth, with the minus resistor the larger twice the difference counts.
    const auto rejection_db = [](const char* plus_ohm, const char* minus_ohm) {
        const Board board = fed(fmt::format("R1 = {{ resistor = {}, pins = [\"p\", \"gnd\"] }}\n"
                                            "R2 = {{ resistor = {}, pins = [\"n\", \"gnd\"] }}\n",
                                            plus_ohm, minus_ohm),
                                "standard = \"P48\"");
        Setting setting(board, nullptr, 0);
        return feed_rejection_db(setting, 1000);
    };
    const double ratio = 2004.002 / (2004.002 + 6800 * 0.998) - 1996 / (1996 + 6800 * 1.002);
    CHECK_THAT(rejection_db("2004.002", "1996"), WithinAbs(-20 * std::log10(ratio), 1e-9));
    CHECK_THAT(rejection_db("1996", "2004.002"), WithinAbs(-20 * std::log10(ratio), 1e-9));
    CHECK(-20 * std::log10(ratio) < 60);  // the other way 140
}

TEST_CASE("a variant may have another feed", "[feed]") {
    const Board board = test::board_from_text(R"(
[parts]
R99 = { resistor = "1k", pins = ["in", "gnd"] }
R1 = { resistor = "3k4", pins = ["p", "gnd"] }
R2 = { resistor = "3k4", pins = ["n", "gnd"] }
[input]
plus = "in"
[output]
plus = "p"
minus = "n"
[feed]
standard = "P48"
plus = "p"
minus = "n"
noise = "1 uV/rtHz"
[variants.none]
feed = "none"
[variants.twelve]
feed = "P12"
[variants.weak]
feed = { voltage = "40 V", current_limit = "2 mA" }
[variants.other]
feed = { standard = "P24", matching = "1 %" }
)");
    const auto feed = [&](const char* variant) {
        return with_variant(board, find_variant(board, variant)).feed;
    };
    CHECK_FALSE(feed("none"));
    REQUIRE(feed("twelve"));
    CHECK(feed("twelve")->standard == "P12");
    CHECK(feed("twelve")->plus.node == "p");
    CHECK(feed("twelve")->noise_v_rthz == 0);  // of the board's own recorder
    CHECK(feed("weak")->standard == "P48");
    CHECK(feed("weak")->voltage_v == 40);
    CHECK(feed("weak")->noise_v_rthz == 1e-6);
    CHECK(feed("other")->resistance_ohm == 1200);
    CHECK(feed("other")->matching == 0.01);
    // 12 V through 680 ohm into 3.4 kohm on each wire.
    const Board twelve = with_variant(board, find_variant(board, "twelve"));
    CHECK_THAT(feed_of(state_of(twelve)).volts, WithinAbs(12 * 3400.0 / 4080, 1e-9));
}

TEST_CASE("the ends of a feed's tolerance", "[feed]") {
    const Board board =
        fed("R1 = { resistor = \"3k4\", pins = [\"p\", \"gnd\"] }\n"
            "R2 = { resistor = \"3k4\", pins = [\"n\", \"gnd\"] }\n",
            "standard = \"P48\"");
    for (const auto& [end, volts] :
         {std::pair(SupplyEnd::low, 44.0), {SupplyEnd::nominal, 48.0}, {SupplyEnd::high, 52.0}}) {
        const double expected_v = volts / 3;
        CHECK_THAT(feed_of(state_of(at_supply(board, end))).volts, WithinAbs(expected_v, 1e-12));
    }
}

TEST_CASE("more than 5 V come from a 9 V battery, not from one lithium cell", "[battery]") {
    // Common practice, no source: a 9 V block goes from 9.6 V to 6 V, one lithium cell from 4.2 V
    // to 3 V with 3.7 V in between; a step-up converter makes the cell do.
    const std::string text = R"(
[battery.block]
full = "9.6 V"
nominal = "8.4 V"
empty = "6 V"
capacity = "500 mAh"
[battery.cell]
full = "4.2 V"
nominal = "3.7 V"
empty = "3 V"
capacity = "2 Ah"
[opamp.amp]
open_loop_gain = "100 dB"
gain_bandwidth = "10 MHz"
supply_min = "5 V"
supply_current = "4 mA"
[parts]
BT1 = { battery = "cell", pins = ["bat", "gnd"] }
SB1 = { link = "closed", pins = ["bat", "vcc"] }
PS1 = { converter = "9 V", input = "bat", out = "vcc", input_min = "2.5 V", efficiency = "90 %", fitted = false }
R1 = { resistor = "100k", pins = ["vcc", "in"] }
R2 = { resistor = "100k", pins = ["in", "gnd"] }
U1 = { opamp = "amp", plus = "in", minus = "out", out = "out", supply = ["vcc", "gnd"] }
C1 = { capacitor = "1u", pins = ["cap", "in"] }
[input]
plus = "cap"
[output]
plus = "out"
[variants.block]
set = { BT1 = "block" }
[variants.stepped]
set = { SB1 = "open", PS1 = { fitted = true } }
)";
    const Board board = test::board_from_text(text);
    const auto works = [&](const char* variant) {
        const Board assembled = with_variant(board, find_variant(board, variant));
        return std::all_of(std::begin(supply_ends), std::end(supply_ends), [&](SupplyEnd end) {
            return faults_of(state_of(at_supply(assembled, end))).empty();
        });
    };
    CHECK_FALSE(works(""));
    CHECK(works("block"));
    CHECK(works("stepped"));
    const Board block = with_variant(board, find_variant(board, "block"));
    // The amplifier's current and that of the divider, which follows the block: 9.6 V to 8.4 V with
    // the first half of the charge, to 6 V with the second. The mean of 1/I over a straight line.
    const auto mean_per_a = [](double from_v, double to_v) {
        const auto amperes = [](double volts) { return 4e-3 + volts / 200e3; };
        return std::log(amperes(from_v) / amperes(to_v)) / (amperes(from_v) - amperes(to_v));
    };
    const double hours = 0.5 * (mean_per_a(9.6, 8.4) + mean_per_a(8.4, 6)) / 2;
    CHECK_THAT(battery_life(block, 0, nullptr).hours, WithinRel(hours, 1e-9));
    CHECK_THAT(supply_margin_v(state_of(at_supply(block, SupplyEnd::low))), WithinRel(1, 1e-9));
}

}  // namespace lowhiss::phantom_feed_test
