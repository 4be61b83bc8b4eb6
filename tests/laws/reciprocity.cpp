// A passive network is reciprocal: the current that an electromotive force in one place drives in
// another is the same when the two change places.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/random_network.hpp"
#include "support/stage.hpp"

namespace lowhiss::reciprocity_test {

constexpr double first_ohm = 200;
constexpr double second_ohm = 4700;

/// Driven at one node through a resistance, listened to at another across another.
Complex gain(const std::string& parts, const std::string& from, double from_ohm,
             const std::string& to, double to_ohm, double f_hz) {
    return test::gain_of(
        {.parts =
             parts + fmt::format("SB1 = {{ link = \"closed\", pins = [\"in\", \"{}\"] }}\n", from),
         .capsule = fmt::format("kind = \"resistive\"\nresistance = {}\n", from_ohm),
         .output = fmt::format("load = {}", to_ohm),
         .tap = to},
        f_hz);
}

TEST_CASE("100 random passive networks are reciprocal") {
    for (unsigned seed = 1001; seed <= 1100; ++seed) {
        const test::PassiveNetwork random(seed);
        std::string parts;
        for (const std::string& line : random.part_lines()) parts += line;
        const std::string last = test::PassiveNetwork::name(random.nodes());
        for (const double f_hz : {20.0, 3e3, 100e3}) {
            CAPTURE(seed, f_hz);
            const Complex there = gain(parts, "n1", first_ohm, last, second_ohm, f_hz) / second_ohm;
            const Complex back = gain(parts, last, second_ohm, "n1", first_ohm, f_hz) / first_ohm;
            // Seven digits may go where admittances of 1e6 to one meet at a node.
            CHECK_THAT(there, test::CloseTo(back, 1e-9));
        }
    }
}

TEST_CASE("a transconductance is not reciprocal, so that the test can fail") {
    const std::string parts = R"(
R1 = { resistor = "1k", pins = ["n1", "n2"] }
G1 = { transconductance = "1m", control = ["n1", "gnd"], pins = ["n2", "gnd"] }
)";
    const Complex there = gain(parts, "n1", first_ohm, "n2", second_ohm, 1000) / second_ohm;
    const Complex back = gain(parts, "n2", second_ohm, "n1", first_ohm, 1000) / first_ohm;
    CHECK(std::abs(there - back) > 0.1 * std::abs(there));
}

}  // namespace lowhiss::reciprocity_test
