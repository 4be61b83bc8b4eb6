// The bass loss of capacitors, against closed forms. Other parts are in bass_causes.cpp.

#include <fmt/format.h>

#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::bass_rolloff_test {

const std::string source_600 = "kind = \"resistive\"\nresistance = \"600R\"\n";

std::vector<Rolloff> rolloff_of(const test::Stage& stage) {
    const Board board = test::board_of(stage);
    Network network = test::network_of(board);
    return bass_rolloff(network, test::capsule_of(board));
}

/// Loss of a first-order high pass at 20 Hz.
double loss_db(double corner_hz) {
    return 10 * std::log10(1 + std::pow(corner_hz / 20, 2));
}

double corner_of(double ohm, double farad) {
    return 1 / (2 * test::pi * ohm * farad);
}

void check(const Rolloff& rolloff, double loss, double corner) {
    CHECK(rolloff.in_the_way);
    CHECK_THAT(rolloff.loss_db, WithinAbs(loss, 1e-9));
    CHECK_THAT(rolloff.corner_hz, WithinRel(corner, 1e-8));
}

TEST_CASE("one coupling capacitor: corner 1 / (2 pi (Rs + R) C)") {
    for (const auto& [text, farad] :
         {std::pair("10u", 10e-6), std::pair("470n", 470e-9), std::pair("4n7", 4.7e-9)}) {
        CAPTURE(text);
        const auto found = rolloff_of({.parts = R"(R1 = { resistor = "3k3", pins = ["out", "gnd"] }
C1 = { capacitor = ")" + std::string(text) + R"(", pins = ["in", "out"] })",
                                       .capsule = source_600});
        REQUIRE(found.size() == 1);
        const double corner = corner_of(3900, farad);
        check(found[0], loss_db(corner), corner);
    }
}

TEST_CASE("two in series in one loop: each alone has its own corner, the loss is shared") {
    const auto found = rolloff_of({.parts = R"(
C1 = { capacitor = "4u7", pins = ["in", "a"] }
R1 = { resistor = "1k", pins = ["a", "b"] }
C2 = { capacitor = "1u", pins = ["b", "out"] }
R2 = { resistor = "3k3", pins = ["out", "gnd"] }
)",
                                   .capsule = source_600});
    REQUIRE(found.size() == 2);
    const test::Z s = test::s_at(20);
    const test::Z through_1 = 4900.0 + 1.0 / (s * 4.7e-6);
    const test::Z through_2 = 4900.0 + 1.0 / (s * 1e-6);
    const test::Z through_both = through_1 + through_2 - 4900.0;
    check(found[0], 20 * std::log10(std::abs(through_both / through_2)), corner_of(4900, 4.7e-6));
    check(found[1], 20 * std::log10(std::abs(through_both / through_1)), corner_of(4900, 1e-6));
}

TEST_CASE("a capacitor in the gain leg") {
    // 1/H = 1/A + (1 + sa) / (1 + sb), a = C Rg, b = C (Rg + Rf). Half the power of the gain with
    // C shorted is reached at w^2 = (1 + 1/A)^2 / (a + b/A)^2 - 2 / b^2.
    const auto found = rolloff_of({.parts = R"(
U1 = { opamp = "part", plus = "in", minus = "fb", out = "out" }
RF = { resistor = "10k", pins = ["fb", "out"] }
RG = { resistor = "100R", pins = ["fb", "leg"] }
CG = { capacitor = "100u", pins = ["leg", "gnd"] }
)",
                                   .tables = "[opamp.part]\nopen_loop_gain = 1e5\n"
                                             "gain_bandwidth = 1e14\n"});
    REQUIRE(found.size() == 1);
    const double a = 100e-6 * 100;
    const double b = 100e-6 * 10100;
    const double leg = a + b / 1e5;
    const double omega = std::sqrt(std::pow((1 + 1e-5) / leg, 2) - 2 / (b * b));
    const test::Z s = test::s_at(20);
    const double open = std::abs(1e-5 + (1.0 + s * a) / (1.0 + s * b));
    const double shorted = 1e-5 + a / b;
    check(found[0], 20 * std::log10(open / shorted), omega / (2 * test::pi));
}

TEST_CASE("two in parallel: shorting either shorts both, and neither alone has a corner") {
    const auto found = rolloff_of({.parts = R"(
C1 = { capacitor = "1u", pins = ["in", "out"] }
C2 = { capacitor = "220n", pins = ["in", "out"] }
R1 = { resistor = "3k3", pins = ["out", "gnd"] }
)",
                                   .capsule = source_600});
    REQUIRE(found.size() == 2);
    for (const Rolloff& rolloff : found) {
        CHECK(rolloff.in_the_way);
        CHECK_THAT(rolloff.loss_db, WithinAbs(loss_db(corner_of(3900, 1.22e-6)), 1e-9));
        CHECK(std::isnan(rolloff.corner_hz));
    }
}

TEST_CASE("a capacitor to ground is not in the way") {
    const auto found = rolloff_of({.parts = R"(
C1 = { capacitor = "2u2", pins = ["in", "a"] }
C2 = { capacitor = "1n", pins = ["a", "gnd"] }
R1 = { resistor = "1k", pins = ["a", "out"] }
C3 = { capacitor = "100p", pins = ["out", "gnd"] }
R2 = { resistor = "3k3", pins = ["out", "gnd"] }
)",
                                   .capsule = source_600});
    REQUIRE(found.size() == 3);
    CHECK(found[0].in_the_way);
    CHECK_FALSE(found[1].in_the_way);
    CHECK_FALSE(found[2].in_the_way);
    CHECK(std::isnan(found[1].corner_hz));
    // The two to ground stay as they are, shorted or not: at the corner C1 halves the power that
    // the rest would pass without it.
    const test::Z s = test::s_at(found[0].corner_hz);
    const test::Z ohm =
        test::parallel(1000.0 + test::parallel(3300.0, 1.0 / (s * 100e-12)), 1.0 / (s * 1e-9));
    const test::Z with_c1 = 600.0 + 1.0 / (s * 2.2e-6) + ohm;
    CHECK_THAT(std::norm(with_c1 / (600.0 + ohm)), WithinAbs(2, 1e-8));
}

TEST_CASE("a leaky capacitor with series resistance: only its capacitance is shorted") {
    const auto found = rolloff_of({.parts = R"(
C1 = { capacitor = "1u", pins = ["in", "out"], series_resistance = "100R", leakage_resistance = "1M" }
R1 = { resistor = "3k3", pins = ["out", "gnd"] }
)",
                                   .capsule = source_600});
    REQUIRE(found.size() == 1);
    const test::Z with = 3900.0 + test::parallel(100.0 + 1.0 / (test::s_at(20) * 1e-6), 1e6);
    const test::Z shorted = 3900.0 + test::parallel(100.0, 1e6);
    CHECK_THAT(found[0].loss_db, WithinAbs(20 * std::log10(std::abs(with / shorted)), 1e-9));
}

TEST_CASE("of more than 50 coupling capacitors in a row each has its loss and none a corner") {
    std::string parts = "R1 = { resistor = \"3k3\", pins = [\"out\", \"gnd\"] }\n";
    for (int k = 0; k < 60; ++k) {
        const std::string from = k == 0 ? "in" : fmt::format("n{}", k);
        const std::string to = k == 59 ? "out" : fmt::format("n{}", k + 1);
        parts +=
            fmt::format("C{} = {{ capacitor = \"60u\", pins = [\"{}\", \"{}\"] }}\n", k, from, to);
    }
    const auto found = rolloff_of({.parts = parts, .capsule = source_600});
    REQUIRE(found.size() == 60);
    const test::Z one = 1.0 / (test::s_at(20) * 60e-6);
    const double loss_db = 20 * std::log10(std::abs((3900.0 + 60.0 * one) / (3900.0 + 59.0 * one)));
    for (const Rolloff& rolloff : found) {
        CHECK_THAT(rolloff.loss_db, WithinAbs(loss_db, 1e-9));
        CHECK(rolloff.in_the_way);
        CHECK(std::isnan(rolloff.corner_hz));
    }
}

}  // namespace lowhiss::bass_rolloff_test
