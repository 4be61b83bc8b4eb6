// A node that only capacitors lead to, with random values: the bass figures are those of the two
// capacitors in series.

#include <fmt/format.h>

#include <random>

#include "lowhiss/measure/setting.hpp"
#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::capacitor_nodes_test {

TEST_CASE("a node of capacitors alone has bass figures", "[rolloff]") {
    std::mt19937 draw(15);
    const auto decades = [&](double low, double high) {
        return std::pow(10, low + (high - low) * (static_cast<double>(draw()) / 4294967296.0));
    };
    int corners = 0;
    for (int set = 0; set < 200; ++set) {
        const double source_ohm = decades(1, 4);
        const double load_ohm = decades(3, 6);
        const double c1 = decades(-10, -4);
        const double c2 = decades(-10, -4);
        const double c3 = decades(-11, -5);
        const test::Stage stage{
            .parts = fmt::format(R"(
C1 = {{ capacitor = {:.17g}, pins = ["in", "x"] }}
C2 = {{ capacitor = {:.17g}, pins = ["x", "out"] }}
C3 = {{ capacitor = {:.17g}, pins = ["x", "gnd"] }}
R1 = {{ resistor = {:.17g}, pins = ["out", "gnd"] }}
)",
                                 c1, c2, c3, load_ohm),
            .capsule = fmt::format("kind = \"resistive\"\nresistance = {:.17g}", source_ohm)};
        CAPTURE(set, stage.parts, stage.capsule);
        const Board board = test::board_of(stage);
        Setting setting(board, test::capsule_of(board), 0);
        const std::vector<PartRolloff>& found = setting.rolloff();
        REQUIRE(found.size() == 3);
        // Gains at 20 Hz, with or without an impedance in the place of each capacitor.
        const auto gain = [&](test::Z z1, test::Z z2) {
            const test::Z s = test::s_at(20);
            const test::Z shunt = 1.0 / (s * c3 + 1.0 / (z2 + load_ohm));
            return shunt / (source_ohm + z1 + shunt) * load_ohm / (z2 + load_ohm);
        };
        const test::Z z1 = 1.0 / (test::s_at(20) * c1);
        const test::Z z2 = 1.0 / (test::s_at(20) * c2);
        const double loss_1 = 20 * std::log10(std::abs(gain(0, z2) / gain(z1, z2)));
        const double loss_2 = 20 * std::log10(std::abs(gain(z1, 0) / gain(z1, z2)));
        CHECK_THAT(found[0].rolloff.loss_db, WithinAbs(loss_1, 1e-7));
        CHECK_THAT(found[1].rolloff.loss_db, WithinAbs(loss_2, 1e-7));
        for (const PartRolloff& part : found) corners += std::isnan(part.rolloff.corner_hz) ? 0 : 1;
    }
    CHECK(corners > 100);
}

TEST_CASE("capacitors that would short the input leave the others without a corner", "[rolloff]") {
    // x has capacitors alone. C3 and C4 in series to ground are both taken for coupling capacitors:
    // shorted, they leave no signal, and so no corner of C1 or C2. Values by a generator of random
    // numbers that ended the search before.
    const test::Stage stage{.parts = R"(
C1 = { capacitor = 4.14152e-08, pins = ["in", "x"] }
C2 = { capacitor = 6.36447e-06, pins = ["x", "out"] }
C3 = { capacitor = 2.34583e-06, pins = ["y", "in"] }
C4 = { capacitor = 2.78618e-05, pins = ["y", "gnd"] }
R1 = { resistor = 7.74367e+06, pins = ["out", "gnd"] }
R2 = { resistor = 4.55175e+06, pins = ["y", "gnd"] }
R3 = { resistor = 524389, pins = ["in", "gnd"] }
)",
                            .capsule = "kind = \"resistive\"\nresistance = 11893.3"};
    const Board board = test::board_of(stage);
    Setting setting(board, test::capsule_of(board), 0);
    for (const PartRolloff& part : setting.rolloff()) {
        CHECK(std::isfinite(part.rolloff.loss_db));
        const double corner_hz = part.rolloff.corner_hz;
        CHECK((std::isnan(corner_hz) || (corner_hz >= 1e-3 && corner_hz <= 20000)));
    }
}

TEST_CASE("random networks of capacitors have bass figures", "[rolloff]") {
    for (unsigned seed = 1; seed <= 400; ++seed) {
        std::mt19937 draw(seed);
        const auto decades = [&](double low, double high) {
            return std::pow(10, low + (high - low) * (static_cast<double>(draw()) / 4294967296.0));
        };
        const char* nodes[] = {"gnd", "in", "out", "x", "y"};
        std::string parts;
        const auto capacitor = [&](const char* a, const char* b, int k) {
            parts += fmt::format("C{} = {{ capacitor = {:.6g}, pins = [\"{}\", \"{}\"] }}\n", k,
                                 decades(-12, -3), a, b);
        };
        capacitor("in", "x", 1);
        capacitor("x", "out", 2);
        for (int k = 3; k < 8; ++k) {
            const auto a = draw() % 5;
            const auto b = draw() % 5;
            if (a != b) capacitor(nodes[a], nodes[b], k);
        }
        parts +=
            fmt::format("R1 = {{ resistor = {:.6g}, pins = [\"out\", \"gnd\"] }}\n", decades(1, 7));
        parts +=
            fmt::format("R2 = {{ resistor = {:.6g}, pins = [\"y\", \"gnd\"] }}\n", decades(1, 7));
        const test::Stage stage{
            .parts = parts,
            .capsule = fmt::format("kind = \"resistive\"\nresistance = {:.6g}", decades(0, 6))};
        CAPTURE(seed, stage.parts, stage.capsule);
        const Board board = test::board_of(stage);
        Setting setting(board, test::capsule_of(board), 0);
        CHECK_NOTHROW(setting.rolloff());
    }
}

}  // namespace lowhiss::capacitor_nodes_test
