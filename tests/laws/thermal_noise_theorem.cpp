// Nyquist, "Thermal agitation of electric charge in conductors", Phys. Rev. 32 (1928): whatever is
// inside a passive network at one temperature, the noise at its terminals is 4kT Re Z.

#include "support/catch.hpp"
#include "support/close_to.hpp"
#include "support/closed_form.hpp"
#include "support/random_network.hpp"
#include "support/stage.hpp"

namespace lowhiss::thermal_noise_theorem_test {

constexpr int networks = 200;
constexpr double source_ohm = 200;

test::Stage stage_of(const test::PassiveNetwork& network) {
    std::string parts = "SB1 = { link = \"closed\", pins = [\"in\", \"n1\"] }\n";
    for (const std::string& line : network.part_lines()) parts += line;
    return {.parts = parts,
            .capsule = "kind = \"resistive\"\nresistance = 200\n",
            .tap = test::PassiveNetwork::name(network.nodes())};
}

/// Node voltages for a current of 1 A into a node, the source's resistance in its place.
std::vector<test::Wide> driven_at(const test::PassiveNetwork& network, double f_hz, int node) {
    test::WideMatrix y = network.admittances(test::WideReal(2 * test::pi * f_hz));
    test::PassiveNetwork::add_to_ground(y, 1, 1 / test::Wide(source_ohm));
    std::vector<test::Wide> current(y.size());
    current[static_cast<std::size_t>(node) - 1] = 1;
    return test::solve_wide(std::move(y), current);
}

test::Z rounded(const test::Wide& z) {
    return {static_cast<double>(z.real()), static_cast<double>(z.imag())};
}

TEST_CASE("200 random passive networks hiss 4kT Re Z at their output, and no more") {
    // Nodes where admittances of 1e6 to one meet lose six of sixteen digits.
    constexpr double tolerance = 1e-9;
    for (unsigned seed = 1; seed <= networks; ++seed) {
        const test::PassiveNetwork random(seed);
        Network network = test::network_of(stage_of(random));
        for (const double f_hz : {20.0, 1e3, 20e3}) {
            CAPTURE(seed, f_hz);
            const auto v = driven_at(random, f_hz, random.nodes());
            const test::Z out_ohm = rounded(v.back());
            CHECK_THAT(test::output_noise_v2_hz(network, f_hz),
                       WithinRel(test::thermal_v2_hz(out_ohm.real()), tolerance));
            // Reciprocity gives the gain from the same solution: V1 per ampere, over the source's
            // resistance. It is zero where the network falls apart at ground.
            const test::Z gain = rounded(v.front()) / source_ohm;
            CHECK_THAT(network.respond(f_hz).gain, test::CloseTo(gain, tolerance));
        }
    }
}

}  // namespace lowhiss::thermal_noise_theorem_test
