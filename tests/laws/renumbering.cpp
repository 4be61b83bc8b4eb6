// The order of the lines and the names of the nodes change nothing.

#include <algorithm>

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/random_network.hpp"
#include "support/stage.hpp"

namespace lowhiss::renumbering_test {

void replace_all(std::string& text, const std::string& what, const std::string& with) {
    for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at)) {
        text.replace(at, what.size(), with);
        at += with.size();
    }
}

/// An amplifier inside a random passive network, its lines shuffled and its nodes renamed so that
/// they sort, and appear, in another order.
std::string board(const test::PassiveNetwork& random, unsigned shuffle) {
    std::vector<std::string> lines = random.part_lines();
    lines.push_back("U1 = { opamp = \"part\", plus = \"n1\", minus = \"fb\", out = \"amp\" }\n");
    lines.push_back("RF = { resistor = \"10k\", pins = [\"fb\", \"amp\"] }\n");
    lines.push_back("RG = { resistor = \"220R\", pins = [\"fb\", \"gnd\"] }\n");
    lines.push_back("RO = { resistor = \"47R\", pins = [\"amp\", \"" +
                    test::PassiveNetwork::name(random.nodes()) + "\"] }\n");
    lines.push_back("SB1 = { link = \"closed\", pins = [\"in\", \"n1\"] }\n");
    std::mt19937 order(shuffle);
    if (shuffle > 0) std::shuffle(lines.begin(), lines.end(), order);
    std::string parts;
    for (const std::string& line : lines) parts += line;
    std::string text = test::text_of(
        {.parts = parts,
         .capsule = "kind = \"dynamic\"\ncoil_resistance = 180\ncoil_inductance = 5e-4\n",
         .tables = "[opamp.part]\nopen_loop_gain = 1e5\ngain_bandwidth = 1e7\n"
                   "voltage_noise = 5e-9\ncurrent_noise = 5e-13\n",
         .tap = test::PassiveNetwork::name(random.nodes())});
    for (int node = random.nodes(); shuffle > 0 && node > 0; --node) {
        replace_all(text, "\"" + test::PassiveNetwork::name(node) + "\"",
                    fmt::format("\"{}\"", (static_cast<unsigned>(node) * 7919U + shuffle) % 1009));
    }
    return text;
}

TEST_CASE("shuffled lines and renamed nodes change gain and hiss by no more than rounding") {
    for (unsigned seed = 2001; seed <= 2050; ++seed) {
        const test::PassiveNetwork random(seed);
        Network plain = test::network_from_text(board(random, 0));
        for (unsigned shuffle = 1; shuffle <= 3; ++shuffle) {
            Network other = test::network_from_text(board(random, shuffle));
            for (const double f_hz : {20.0, 1e3, 50e3}) {
                CAPTURE(seed, shuffle, f_hz);
                // A backward error of 1e-15 or so of each, times a condition of 1e5 at most.
                CHECK_THAT(other.respond(f_hz).gain,
                           test::CloseTo(plain.respond(f_hz).gain, 1e-10));
                CHECK_THAT(test::output_noise_v2_hz(other, f_hz),
                           WithinRel(test::output_noise_v2_hz(plain, f_hz), 1e-10));
            }
        }
    }
}

}  // namespace lowhiss::renumbering_test
