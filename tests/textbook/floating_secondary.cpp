// An output transformer whose secondary floats with its load: T equivalent in closed form.

#include "lowhiss/measure/setting.hpp"
#include "lowhiss/topology/check.hpp"
#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::floating_secondary_test {

std::string transformer(const std::string& more = "") {
    return R"(
[parts]
R1 = { resistor = "600R", pins = ["in", "a"] }
T1 = { transformer = { ratio = 0.5, primary_inductance = 4, coupling = 0.999, primary_resistance = "50R", secondary_resistance = "20R" }, primary = ["a", "gnd"], secondary = ["p", "n"] }
)" + more + R"(
[input]
plus = "in"
[output]
plus = "p"
minus = "n"
load = "2k"
)";
}

TEST_CASE("a secondary may float with its load", "[transformer]") {
    const Board board = test::board_from_text(transformer());
    CHECK(check_topology(board, build_circuit(board, 0, nullptr)).empty());
    Network network = test::network_of(board);
    for (const double f_hz : {5.0, 100.0, 1e3, 50e3}) {
        // (R1 + Rp + s L) I - s M J = E, (Rs + Rl + s k) J = s M I
        const test::Z s = test::s_at(f_hz);
        const test::Z m = s * 0.999 * 0.5 * 4.0;
        const test::Z first = 650.0 + s * 4.0;
        const test::Z second = 2020.0 + s * 1.0;
        const test::Z expected = 2000.0 * m / (first * second - m * m);
        CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(expected, 1e-12));
    }
    CHECK(Setting(board, nullptr, 0).stability().stable);
}

TEST_CASE("a capsule may float on a primary", "[transformer]") {
    const Board board = test::board_from_text(R"(
[capsule.source]
kind = "resistive"
resistance = "200R"
[parts]
T1 = { transformer = { ratio = 10, primary_inductance = 4, coupling = 0.999 }, primary = ["a", "b"], secondary = ["out", "gnd"] }
R1 = { resistor = "100k", pins = ["out", "gnd"] }
[input]
plus = "a"
minus = "b"
capsule = "source"
[output]
plus = "out"
)");
    CHECK(check_topology(board, build_circuit(board, 0, test::capsule_of(board))).empty());
    const test::Z s = test::s_at(1000);
    const test::Z m = s * 0.999 * 10.0 * 4.0;
    const test::Z expected = 1e5 * m / ((200.0 + s * 4.0) * (1e5 + s * 400.0) - m * m);
    CHECK_THAT(test::network_of(board).respond(1000).gain, test::CloseTo(expected, 1e-11));
}

TEST_CASE("a floating winding that something senses against ground is still refused",
          "[transformer]") {
    const auto errors = [](const std::string& more) {
        const Board board = test::board_from_text(transformer(more));
        Diagnostics found = check_topology(board, build_circuit(board, 0, nullptr));
        std::erase_if(found, [](const Diagnostic& d) { return d.severity != Severity::error; });
        return found;
    };
    const Diagnostics sensed = errors(R"(
E1 = { voltage_gain = 2, control = ["p", "gnd"], pins = ["x", "gnd"] }
R2 = { resistor = "1k", pins = ["x", "gnd"] }
)");
    REQUIRE(sensed.size() == 1);
    CHECK(sensed.front().code == "no-path-to-ground");
    // A transformer that is connected to nothing is not tied to ground either.
    const Diagnostics alone = errors(R"(
T2 = { transformer = { ratio = 1, primary_inductance = 1 }, primary = ["q", "r"], secondary = ["s", "t"] }
R3 = { resistor = "1k", pins = ["q", "r"] }
R4 = { resistor = "1k", pins = ["s", "t"] }
)");
    CHECK(alone.size() == 2);
}

}  // namespace lowhiss::floating_secondary_test
