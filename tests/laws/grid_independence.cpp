// Integrals and search results do not depend on the frequencies that are plotted.

#include <bit>

#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::grid_independence_test {

const test::Stage preamp{.parts = R"(
C1 = { capacitor = "4u7", pins = ["in", "p"] }
R1 = { resistor = "10k", pins = ["p", "gnd"] }
U1 = { opamp = "part", plus = "p", minus = "fb", out = "out" }
R2 = { resistor = "10k", pins = ["fb", "out"] }
C2 = { capacitor = "100p", pins = ["fb", "out"] }
R3 = { resistor = "47R", pins = ["fb", "gnd"] }
)",
                         .capsule = R"(kind = "dynamic"
coil_resistance = "180R"
coil_inductance = "500u"
resonances = [{ frequency = "150 Hz", q = 9, resistance = "110R" }]
)",
                         .tables = R"(
[opamp.part]
open_loop_gain = 1e5
gain_bandwidth = "10 MHz"
voltage_noise = "4.5 nV/rtHz"
voltage_noise_corner = "60 Hz"
current_noise = "0.7 pA/rtHz"
)"};

std::vector<double> figures(const std::vector<double>& grid) {
    SweepRequest request;
    request.frequency_hz = grid;
    const KnobResult result = test::solve(test::board_of(preamp), 0, request);
    const Measures& m = result.measures;
    std::vector<double> list{m.gain_1khz_db,   m.low_corner_hz,   m.high_corner_hz,
                             m.output_noise_v, m.ein_dbu,         m.ein_a_dbu,
                             m.ein_468_dbu,    m.noise_figure_db, m.capsule_noise_rise_db};
    for (const NoiseShare& share : result.noise_by_part) list.push_back(share.share);
    for (const PartRolloff& part : result.rolloff) list.push_back(part.rolloff.loss_db);
    return list;
}

TEST_CASE("figures are the same, bit for bit, on any grid") {
    const std::vector<double> none = figures({});
    for (const double figure : none) REQUIRE(std::isfinite(figure));
    std::vector<double> dense;
    for (int k = 0; k <= 140; ++k) dense.push_back(std::pow(10.0, k / 20.0));
    for (const auto& grid : {std::vector<double>{1000}, {150}, {0.1, 1e8}, dense}) {
        const std::vector<double> other = figures(grid);
        REQUIRE(other.size() == none.size());
        for (std::size_t k = 0; k < none.size(); ++k) {
            CAPTURE(k);
            CHECK(std::bit_cast<std::uint64_t>(other[k]) == std::bit_cast<std::uint64_t>(none[k]));
        }
    }
}

}  // namespace lowhiss::grid_independence_test
