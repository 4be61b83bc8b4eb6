// All impedances times k (R k, L k, C / k): the gain stays, thermal noise power grows by k.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/random_network.hpp"
#include "support/stage.hpp"

namespace lowhiss::impedance_scaling_test {

Network scaled(const test::PassiveNetwork& random, double k) {
    std::string parts = "SB1 = { link = \"closed\", pins = [\"in\", \"n1\"] }\n";
    for (const std::string& line : random.part_lines(k)) parts += line;
    return test::network_of(
        {.parts = parts,
         .capsule = fmt::format("kind = \"resistive\"\nresistance = {}\n", 200 * k),
         .tap = test::PassiveNetwork::name(random.nodes())});
}

TEST_CASE("scaling impedances by k leaves the gain and scales the noise power by k") {
    for (unsigned seed = 3001; seed <= 3050; ++seed) {
        const test::PassiveNetwork random(seed);
        Network one = scaled(random, 1);
        for (const double k : {1e-3, 37.0, 1e3}) {
            Network other = scaled(random, k);
            for (const double f_hz : {20.0, 1e3, 50e3}) {
                CAPTURE(seed, k, f_hz);
                const Complex gain = one.respond(f_hz).gain;
                // Each element is rounded by 1e-16; the condition is 1e6 at most.
                CHECK_THAT(other.respond(f_hz).gain, test::CloseTo(gain, 1e-9));
                CHECK_THAT(test::output_noise_v2_hz(other, f_hz),
                           WithinRel(k * test::output_noise_v2_hz(one, f_hz), 1e-9));
            }
        }
    }
}

}  // namespace lowhiss::impedance_scaling_test
