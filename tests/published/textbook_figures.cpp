// Figures of op-amp stages that every textbook derives, worked out by an independent script.

#include <fmt/format.h>

#include "lowhiss/measure/corner.hpp"
#include "lowhiss/quantity/decibel.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::textbook_figures_test {

const std::string model = "[opamp.ten]\nopen_loop_gain = 1e5\ngain_bandwidth = \"10 MHz\"\n";

test::Stage stage(bool inverting) {
    return {.parts = fmt::format(R"(
RF = {{ resistor = "100k", pins = ["fb", "out"] }}
RG = {{ resistor = "1k", pins = ["fb", "{}"] }}
U1 = {{ opamp = "ten", plus = "{}", minus = "fb", out = "out" }}
)",
                                 inverting ? "in" : "gnd", inverting ? "gnd" : "in"),
            .tables = model};
}

TEST_CASE("gain of 100 from A0 = 1e5 and 10 MHz: +100.898093, -99.899102, both to 99.11 kHz") {
    for (const bool inverting : {false, true}) {
        Network network = test::network_of(stage(inverting));
        const Complex dc = network.respond(1e-3).gain;
        CHECK_THAT(dc.real(), WithinAbs(inverting ? -99.899102 : 100.898093, 5e-7));
        const double at_corner = std::abs(network.respond(99109.901).gain / dc);
        CHECK_THAT(at_corner * at_corner, WithinAbs(0.5, 1e-8));
    }
}

TEST_CASE("an inverting stage of one has half the gain-bandwidth product") {
    Network network = test::network_of({.parts = R"(
RF = { resistor = "10k", pins = ["fb", "out"] }
RG = { resistor = "10k", pins = ["in", "fb"] }
U1 = { opamp = "ten", plus = "gnd", minus = "fb", out = "out" }
)",
                                        .tables = model});
    // 5 MHz, and GBW / A0 = 100 Hz more.
    const double corner = corner_hz(network, network.respond(1000), Corner::high);
    CHECK_THAT(corner, WithinAbs(5000100, 1));
}

TEST_CASE("followers that ring on a capacitive load") {
    // Q = sqrt(GBW / fp), f0 = sqrt(GBW fp), fp = 1 / (2 pi Ro C), A0 infinite.
    struct Row {
        double ohm, nanofarad, q, peak_db;
    };
    constexpr Row table[] = {
        {100, 1, 2.5066, 8.158}, {50, 1, 1.7725, 5.332}, {100, 10, 7.927, 17.999}};
    for (const Row& row : table) {
        CAPTURE(row.ohm, row.nanofarad);
        Network network = test::network_of(
            {.parts = R"(U1 = { opamp = "part", plus = "in", minus = "out", out = "out" })",
             .output = fmt::format("cable = {}e-9", row.nanofarad),
             .tables = fmt::format("[opamp.part]\nopen_loop_gain = 1e12\n"
                                   "gain_bandwidth = \"10 MHz\"\noutput_resistance = {}\n",
                                   row.ohm)});
        const double pole = 1e9 / (2 * test::pi * row.ohm * row.nanofarad);
        const double f0 = std::sqrt(10e6 * pole);
        CHECK_THAT(std::abs(network.respond(f0).gain), WithinAbs(row.q, 5e-4));
        // The peak stands at f0 sqrt(1 - 1/2Q^2).
        const double q = std::sqrt(10e6 / pole);
        const Complex peak = network.respond(f0 * std::sqrt(1 - 1 / (2 * q * q))).gain;
        CHECK_THAT(db_from_ratio(std::abs(peak)), WithinAbs(row.peak_db, 6e-4));
    }
}

TEST_CASE("an RC a decade off its corner: -20.0432 and -0.0432 dB") {
    Network network = test::network_of({.parts = R"(
R1 = { resistor = "1k", pins = ["in", "out"] }
C1 = { capacitor = "100n", pins = ["out", "gnd"] }
)"});
    const double corner = 1 / (2 * test::pi * 1e-4);
    const auto db = [&](double f_hz) {
        return db_from_ratio(std::abs(network.respond(f_hz).gain));
    };
    CHECK_THAT(db(10 * corner), WithinAbs(-20.0432, 5e-5));
    CHECK_THAT(db(0.1 * corner), WithinAbs(-0.0432, 5e-5));
    CHECK_THAT(db(corner), WithinAbs(-3.0103, 5e-5));
}

TEST_CASE("a twin-T of 10 k and 10 nF: 1591 Hz, 3 dB down at 375.714 and 6741.912 Hz") {
    // freecircuitdiagram.com, "Twin-T notch filter" (2010): 1591 Hz. The edges computed.
    Network network = test::network_of({.parts = R"(
R1 = { resistor = "10k", pins = ["in", "r"] }
R2 = { resistor = "10k", pins = ["r", "out"] }
C3 = { capacitor = "20n", pins = ["r", "gnd"] }
C1 = { capacitor = "10n", pins = ["in", "c"] }
C2 = { capacitor = "10n", pins = ["c", "out"] }
R3 = { resistor = "5k", pins = ["c", "gnd"] }
)"});
    CHECK_THAT(network.respond(1591).gain, test::Within(0, 1e-3));
    CHECK_THAT(network.respond(1591.549).gain, test::Within(0, 1e-6));
    for (const double f_hz : {375.714, 6741.912}) {
        CHECK_THAT(std::norm(network.respond(f_hz).gain), WithinAbs(0.5, 1e-6));
    }
}

}  // namespace lowhiss::textbook_figures_test
