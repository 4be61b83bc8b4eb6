// The contributions of the parts add up to the output noise, at each frequency and over the band.

#include <algorithm>

#include "support/catch.hpp"
#include "support/closed_form.hpp"
#include "support/stage.hpp"

namespace lowhiss::noise_shares_test {

const test::Stage preamp{.parts = R"(
C1 = { capacitor = "22u", pins = ["in", "p"], series_resistance = "0R3", leakage_resistance = "5M" }
R1 = { resistor = "10k", pins = ["p", "gnd"] }
U1 = { opamp = "part", plus = "p", minus = "fb", out = "out" }
RV1 = { potentiometer = "10k", pins = ["fb", "out", "out"], taper = "reverse-log", end_resistance = "5R" }
R2 = { resistor = "100R", pins = ["fb", "leg"] }
C2 = { capacitor = "220u", pins = ["leg", "gnd"] }
)",
                         .capsule = R"(kind = "dynamic"
coil_resistance = "180R"
coil_inductance = "500u"
resonances = [{ frequency = "150 Hz", q = 2, resistance = "110R" }]
)",
                         .tables = R"(
[knob]
part = "RV1"
positions = [0, 0.5, 1]

[opamp.part]
open_loop_gain = 1e5
gain_bandwidth = "10 MHz"
voltage_noise = "4.5 nV/rtHz"
voltage_noise_corner = "60 Hz"
current_noise = "0.7 pA/rtHz"
current_noise_corner = "200 Hz"
input_resistance = "300k"
)"};

KnobResult solved(double rotation) {
    SweepRequest request;
    request.frequency_hz = {1, 20, 150, 1e3, 20e3, 500e3};
    return test::solve(test::board_of(preamp), rotation, request);
}

TEST_CASE("shares of output noise add up to one, largest first") {
    for (const double rotation : {0.0, 0.5, 1.0}) {
        const KnobResult result = solved(rotation);
        double sum = 0;
        double previous = 1;
        for (const NoiseShare& share : result.noise_by_part) {
            CHECK(share.share >= 0);
            CHECK(share.share <= previous);
            previous = share.share;
            sum += share.share;
        }
        // The whole and its parts are integrated at the same points: nothing but summation.
        CHECK_THAT(sum, WithinRel(1, 1e-12));
    }
}

TEST_CASE("contributions add up, as powers, to the output noise over the band") {
    const KnobResult result = solved(0.5);
    double power = 0;
    for (const NoiseShare& share : result.noise_by_part) power += share.output_v * share.output_v;
    const double total = result.measures.output_noise_v;
    CHECK_THAT(power, WithinRel(total * total, 1e-12));
    for (const NoiseShare& share : result.noise_by_part) {
        const double part = share.output_v * share.output_v / (total * total);
        CHECK_THAT(part, WithinAbs(share.share, 1e-12));
    }
}

TEST_CASE("contributions add up, as powers, to the density at each frequency") {
    const KnobResult result = solved(0.5);
    for (std::size_t k = 0; k < result.output_noise_v_rthz.size(); ++k) {
        double power = 0;
        for (const NoiseShare& share : result.noise_by_part) {
            power += share.output_v_rthz[k] * share.output_v_rthz[k];
        }
        const double density = result.output_noise_v_rthz[k];
        CHECK_THAT(power, WithinRel(density * density, 1e-12));
    }
}

TEST_CASE("every part that can hiss is in the list, and no other") {
    std::vector<std::string> heard;
    for (const NoiseShare& share : solved(0.5).noise_by_part) {
        heard.push_back(share.part + ": " + std::string(text_of(share.mechanism)));
    }
    std::sort(heard.begin(), heard.end());
    CHECK(heard == std::vector<std::string>{"C1: thermal", "R1: thermal", "R2: thermal",
                                            "RV1: thermal", "U1: current noise, minus input",
                                            "U1: current noise, plus input", "U1: voltage noise",
                                            "capsule: thermal"});
}

}  // namespace lowhiss::noise_shares_test
