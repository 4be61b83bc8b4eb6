// A capsule and the input that loads it: the loss, where it is largest, and the input impedance
// that suits the capsule.

#include "lowhiss/measure/capsule_loading.hpp"

#include <cmath>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::capsule_loading_test {

using test::Z;

CapsuleLoading loading_of(const test::Stage& stage) {
    const Board board = test::board_of(stage);
    Setting setting(board, test::capsule_of(board), 0);
    return capsule_loading(setting, {20, 20e3});
}

std::string input_of(const std::string& ohm) {
    return "R1 = { resistor = \"" + ohm + "\", pins = [\"in\", \"out\"] }\n" +
           "R2 = { resistor = \"1R\", pins = [\"out\", \"gnd\"] }\n";
}

TEST_CASE("60 pF into 4.6 kohm loses most at 20 Hz and wants ten times its impedance", "[bass]") {
    const CapsuleLoading found = loading_of(
        {.parts = input_of("4599"), .capsule = "kind = \"condenser\"\ncapacitance = \"60p\"\n"});
    const auto ohm = [](double f_hz) { return 1.0 / (test::s_at(f_hz) * 60e-12); };
    const auto loss_db = [&](double f_hz) {
        return 20 * std::log10(std::abs(1.0 + ohm(f_hz) / 4600.0));
    };
    CHECK_FALSE(found.suits());
    CHECK_THAT(found.at_hz, WithinRel(20, 1e-6));
    CHECK_THAT(found.loss_db, WithinAbs(loss_db(20), 1e-6));
    CHECK_THAT(found.loss_1khz_db, WithinAbs(loss_db(1000), 1e-9));
    CHECK_THAT(found.input_ohm, WithinRel(4600, 1e-9));
    CHECK_THAT(found.wants_ohm, WithinRel(10 * std::abs(ohm(20)), 1e-6));
    CHECK(found.wants_ohm > 1e9);
    // The capsule suits an input of that impedance: it loses 0.04 dB into such a resistance.
    const CapsuleLoading suited = loading_of(
        {.parts = input_of("1.33G"), .capsule = "kind = \"condenser\"\ncapacitance = \"60p\"\n"});
    CHECK(suited.suits());
    CHECK_THAT(suited.loss_db, WithinAbs(10 * std::log10(1.01), 1e-3));
}

TEST_CASE("a resistance suits an input of two and a half times its own, not one of twice",
          "[bass]") {
    const std::string capsule = "kind = \"resistive\"\nresistance = \"200R\"\n";
    // 200 into 482.7 ohm lose 3.01 dB: 1 / (sqrt(2) - 1) = 2.414.
    CHECK(loading_of({.parts = input_of("499"), .capsule = capsule}).suits());
    CHECK_FALSE(loading_of({.parts = input_of("399"), .capsule = capsule}).suits());
}

TEST_CASE("an ideal source is not loaded", "[bass]") {
    const CapsuleLoading found = loading_of({.parts = input_of("10R")});
    CHECK(found.suits());
    CHECK(std::isnan(found.loss_db));
}

}  // namespace lowhiss::capsule_loading_test
