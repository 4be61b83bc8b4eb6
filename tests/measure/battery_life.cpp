// Battery life in closed form: until the cells are empty, an amplifier is starved, or a regulator
// or converter drops out.

#include "lowhiss/measure/battery_life.hpp"

#include <cmath>

#include "lowhiss/measure/assembly.hpp"
#include "lowhiss/measure/registry.hpp"
#include "support/board_text.hpp"
#include "support/catch.hpp"

namespace lowhiss::battery_life_test {

BatteryLife life_of(const Board& board) {
    return battery_life(board, 0, nullptr);
}

/// Two cells of 2 Ah, together 2.8 V to 2.4 V to 2.0 V, into a converter to 5 V for 100 ohm.
Board converter_board(const std::string& input_min, const std::string& more = "") {
    return test::board_from_text(R"(
[battery.cell]
full = "1.4 V"
nominal = "1.2 V"
empty = "1 V"
capacity = "2 Ah"
[parts]
BT1 = { battery = "cell", cells = 2, pins = ["bat", "gnd"] }
PS1 = { converter = "5 V", input = "bat", out = "v", efficiency = "80 %", input_min = ")" +
                                 input_min + R"(" }
R1 = { resistor = "100R", pins = ["v", "gnd"] }
R2 = { resistor = "1k", pins = ["in", "gnd"] }
[input]
plus = "in"
[output]
plus = "in"
minus = "v"
)" + more);
}

/// The converter draws its power, so that an hour costs less charge while the cells are full: the
/// integral of the voltage over the charge, over the power.
constexpr double power_w = 5 * 5 / 100.0 / 0.8;

TEST_CASE("a converter that stops at 2.39 V ends the life of cells of nominal 2.4 V", "[battery]") {
    const BatteryLife life = life_of(converter_board("2.39 V"));
    CHECK(life.end == BatteryLife::End::regulator_out);
    CHECK(life.part == "PS1");
    // From 2.4 V to 2.39 V is 1/40 of the second half of the charge.
    const double spent = 0.5 + 0.5 * (2.4 - 2.39) / (2.4 - 2.0);
    CHECK_THAT(life.spent, WithinAbs(spent, 2e-6));
    const double volt_share = (2.8 + 2.4) / 2 * 0.5 + (2.4 + 2.39) / 2 * (spent - 0.5);
    CHECK_THAT(life.hours, WithinRel(2 * volt_share / power_w, 1e-5));
    CHECK(end_text(life) == "until PS1 drops out, with 51 % of the charge spent");
}

TEST_CASE("a converter that goes on runs the cells until they are empty", "[battery]") {
    const BatteryLife life = life_of(converter_board("1.8 V"));
    CHECK(life.end == BatteryLife::End::empty);
    CHECK(life.part == "BT1");
    const double volt_share = (2.8 + 2.4) / 2 * 0.5 + (2.4 + 2.0) / 2 * 0.5;
    CHECK_THAT(life.hours, WithinRel(2 * volt_share / power_w, 1e-9));
    CHECK(end_text(life) == "until BT1 is empty");
}

TEST_CASE("a converter that never starts has no life; accepted, it does not count", "[battery]") {
    const BatteryLife life = life_of(converter_board("3 V"));
    CHECK(life.hours == 0);
    CHECK(life.end == BatteryLife::End::regulator_out);
    const std::string accepted =
        "[[accept]]\nfault = \"drops_out\"\npart = \"PS1\"\nwhy = \"it passes the cells on\"\n";
    CHECK(life_of(converter_board("2.39 V", accepted)).end == BatteryLife::End::empty);
}

TEST_CASE("an amplifier that is starved ends the life before its block is empty", "[battery]") {
    // 9.6 V to 9 V to 6 V, through 100 ohm with 4 mA: 7 V at the pins are 7.4 V of the block.
    const auto board = [](const std::string& capacity) {
        return test::board_from_text(R"(
[battery.block]
full = "9.6 V"
nominal = "9 V"
empty = "6 V"
capacity = ")" + capacity + R"("
[opamp.amp]
open_loop_gain = "120 dB"
gain_bandwidth = "10 MHz"
supply_min = "7 V"
supply_current = "4 mA"
[parts]
BT1 = { battery = "block", pins = ["bat", "gnd"] }
R1 = { resistor = "100R", pins = ["bat", "vcc"] }
R2 = { resistor = "1k", pins = ["in", "gnd"] }
V1 = { voltage_source = "3 V", pins = ["mid", "in"] }
U1 = { opamp = "amp", plus = "mid", minus = "out", out = "out", supply = ["vcc", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
)");
    };
    const BatteryLife life = life_of(board("500 mAh"));
    CHECK(life.end == BatteryLife::End::amplifier_starved);
    CHECK(life.part == "U1");
    const double spent = 0.5 + 0.5 * (9 - 7.4) / (9 - 6);
    CHECK_THAT(life.hours, WithinRel(0.5 * spent / 4e-3, 1e-5));
    CHECK(end_text(life) == "until the supply of U1 is too low, with 77 % of the charge spent");

    const Board twice = board("1 Ah");
    Assembly assembly(twice, "", "");
    const MeasureValue measured = value_of(*find_measure("battery_life"), {}, assembly, 0);
    CHECK_THAT(measured.value, WithinRel(2 * life.hours, 1e-9));
}

TEST_CASE("without a battery that delivers current there is no life", "[battery]") {
    const Board board = test::board_from_text(R"(
[parts]
R1 = { resistor = "1k", pins = ["in", "gnd"] }
V1 = { voltage_source = "9 V", pins = ["v", "gnd"] }
R2 = { resistor = "1k", pins = ["v", "gnd"] }
[input]
plus = "in"
[output]
plus = "in"
minus = "v"
)");
    CHECK(std::isnan(life_of(board).hours));
}

}  // namespace lowhiss::battery_life_test
